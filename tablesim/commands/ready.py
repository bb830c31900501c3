"""Commands about what is ready: scenarios, the file's schema, the published checks."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import typer

from .common import AsJson, dump, print_table

if TYPE_CHECKING:
    from tablesim.study.published import Verdict


def scenarios(as_json: AsJson = False) -> None:
    """List the ready scenarios."""
    from tablesim.model.scenario import load
    from tablesim.resources import ready_scenarios

    found = {name: load(path) for name, path in ready_scenarios().items()}
    if as_json:
        dump([{"name": n, "title": s.title, "takes": [t.name for t in s.takes]} for n, s in found.items()])
        return
    print_table(["name", "title", "takes"], ([n, s.title, str(len(s.takes))] for n, s in found.items()))


def scenario_schema() -> dict[str, Any]:
    """The JSON Schema of a scenario file."""
    from tablesim.model.scenario import Scenario

    return {"$schema": "https://json-schema.org/draft/2020-12/schema", **Scenario.model_json_schema()}


def schema() -> None:
    """Print the JSON Schema of a scenario file."""
    dump(scenario_schema())


def check(as_json: AsJson = False) -> None:
    """Hold every figure of the field against the engine; exit 1 if one fails."""
    from tablesim.study.checks import make_checks
    from tablesim.study.findings import as_json as plain
    from tablesim.study.published import KINDS

    verdicts = make_checks()
    if as_json:
        dump([plain(v) for v in verdicts])
    else:
        print_table(
            ["check", "kind", "source", "expected", "within", "found", "verdict"],
            (
                [
                    v.name, v.kind, v.source, f"{v.expected:.5g} {v.unit}", f"{v.tolerance:.2g}",
                    f"{v.value + 0.0:.5g}", _verdict(v),
                ]
                for v in verdicts
            ),
        )  # fmt: skip
        for v in verdicts:
            if v.miss:
                typer.echo(f"missed, {v.name.strip()}: {v.miss}.")
        for kind, worth in KINDS.items():
            these = [v for v in verdicts if v.kind == kind]
            typer.echo(f"{kind}: {sum(v.ok for v in these)} of {len(these)} hold; {worth}.")
        typer.echo("No measured figure of swerve was found to hold against the engine.")
    if any(v.fails for v in verdicts):
        raise typer.Exit(1)


def _verdict(v: Verdict) -> str:
    """ok; missed, as said it would be; or FAILS."""
    if v.fails:
        return "FAILS, held though said to be missed" if v.miss else "FAILS"
    return "missed" if v.miss else "ok"
