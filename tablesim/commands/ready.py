"""Commands about what is ready: scenarios, the file's schema, the published checks."""

from __future__ import annotations

from typing import Any

import typer

from .common import AsJson, dump, table

VERDICT = {True: "ok", False: "FAILS"}


def scenarios(as_json: AsJson = False) -> None:
    """List the ready scenarios."""
    from tablesim.model.scenario import load
    from tablesim.resources import ready_scenarios

    found = {name: load(path) for name, path in ready_scenarios().items()}
    if as_json:
        dump([{"name": n, "title": s.title, "takes": [t.name for t in s.takes]} for n, s in found.items()])
        return
    table(["name", "title", "takes"], ([n, s.title, str(len(s.takes))] for n, s in found.items()))


def scenario_schema() -> dict[str, Any]:
    """The JSON Schema of a scenario file."""
    from tablesim.model.scenario import Scenario

    return {"$schema": "https://json-schema.org/draft/2020-12/schema", **Scenario.model_json_schema()}


def schema() -> None:
    """Print the JSON Schema of a scenario file."""
    dump(scenario_schema())


def check(as_json: AsJson = False) -> None:
    """Hold every published check value against the engine; exit 1 if one fails."""
    from tablesim.study.checks import make_checks
    from tablesim.study.findings import as_json as plain

    verdicts = make_checks()
    if as_json:
        dump([plain(v) for v in verdicts])
    else:
        table(
            ["check", "kind", "source", "expected", "found", "verdict"],
            (
                [v.name, v.kind, v.source, f"{v.expected:.5g} {v.unit}", f"{v.value + 0.0:.5g}", VERDICT[v.ok]]
                for v in verdicts
            ),
        )  # fmt: skip
        typer.echo(f"{sum(v.ok for v in verdicts)} of {len(verdicts)} hold.")
    if not all(v.ok for v in verdicts):
        raise typer.Exit(1)
