"""Commands that show one law at a time."""

from __future__ import annotations

from typing import Annotated, Any

import typer

from tablesim.study.laws import (
    BALLS,
    CLOTH,
    CUE,
    RADIUS_M,
    RAILS,
    StrikeGear,
    Vector2,
    Vector3,
    ball_ball_law,
    cloth_law,
    cushion_law,
    strike_law,
)

from .common import AsJson, dump, print_table, vector

law = typer.Typer(help="One law at a time: vectors in and out, so that anyone can check it.", no_args_is_help=True)


def _law_answer(finding: Any, as_json: bool) -> None:
    from tablesim.study.findings import as_json as plain

    data = plain(finding)
    if as_json:
        dump(data)
        return
    print_table(["quantity", "value"], ([name, _law_value(value)] for name, value in data.items() if value is not None))


def _law_value(value: Any) -> str:
    if isinstance(value, dict):
        return "; ".join(f"{k} {_law_value(v)}" for k, v in value.items())
    if isinstance(value, list):
        return ", ".join(f"{v + 0.0:.9g}" for v in value)
    return value if isinstance(value, str) else f"{value + 0.0:.9g}"


def _motion(velocity: str, spin: str) -> tuple[Vector2, Vector3]:
    """Velocity [m/s] and spin [rad/s] from their texts."""
    vx, vy = vector(velocity, "--velocity", 2)
    wx, wy, wz = vector(spin, "--spin", 3)
    return (vx, vy), (wx, wy, wz)


Velocity = Annotated[str, typer.Option("--velocity", metavar="X,Y", help="m/s")]
Spin = Annotated[str, typer.Option("--spin", metavar="X,Y,Z", help="rad/s")]
Radius = Annotated[float, typer.Option("--radius", help="ball radius, m")]


@law.command("strike")
def law_strike(
    pace: Annotated[float, typer.Option("--pace", help="m/s that the stroke gives on a level centre hit")],
    right: Annotated[float, typer.Option("--right", help="contact offset right of centre, ball radii")] = 0.0,
    up: Annotated[float, typer.Option("--up", help="contact offset above centre, ball radii")] = 0.0,
    elevation: Annotated[float, typer.Option("--elevation", help="of the butt, deg")] = 0.0,
    ball_to_end_mass: Annotated[
        float, typer.Option("--ball-to-end-mass", help="m/m_e of this ball and shaft")
    ] = CUE.ball_to_end_mass,
    stroke_factor: Annotated[float, typer.Option("--stroke-factor", help="on the impulse across the cue")] = 1.0,
    ball_mass: Annotated[float, typer.Option("--ball-mass", help="kg")] = BALLS.mass_kg,
    cue_mass: Annotated[float, typer.Option("--cue-mass", help="kg; 19 oz")] = CUE.mass_kg,
    radius: Radius = RADIUS_M,
    sliding_friction: Annotated[
        float, typer.Option("--sliding-friction", help="of the bed; 0: it does not rub")
    ] = CLOTH.sliding_friction,
    tip_friction: Annotated[float, typer.Option("--tip-friction", help="sets the miscue limit")] = CUE.tip_friction,
    as_json: AsJson = False,
) -> None:
    """Cue to ball: squirt, velocity [forward, left] and spin [forward, left, up] in the cue's level frame."""
    gear = StrikeGear(stroke_factor, ball_mass, cue_mass, radius, sliding_friction, tip_friction)
    _law_answer(strike_law(pace, right, up, elevation, ball_to_end_mass, gear), as_json)


@law.command("cloth")
def law_cloth(
    velocity: Velocity,
    spin: Spin,
    after: Annotated[float | None, typer.Option("--after", help="also the state after so many seconds")] = None,
    sliding_friction: Annotated[float, typer.Option("--sliding-friction")] = CLOTH.sliding_friction,
    rolling_resistance: Annotated[float, typer.Option("--rolling-resistance")] = CLOTH.rolling_resistance,
    spin_deceleration: Annotated[
        float, typer.Option("--spin-deceleration", help="rad/s^2")
    ] = CLOTH.spin_deceleration_rad_s2,
    radius: Radius = RADIUS_M,
    as_json: AsJson = False,
) -> None:
    """Ball on cloth from the origin: when and where it stops sliding and stops."""
    found = cloth_law(*_motion(velocity, spin), after, sliding_friction, rolling_resistance, spin_deceleration, radius)
    _law_answer(found, as_json)


@law.command("ball-ball")
def law_ball_ball(
    velocity: Velocity,
    spin: Spin,
    restitution: Annotated[float, typer.Option("--restitution")] = BALLS.restitution,
    condition: Annotated[float, typer.Option("--condition", help="factor on ball friction; 1 clean")] = BALLS.condition,
    friction: Annotated[float | None, typer.Option("--friction", help="a constant instead of the law")] = None,
    mass_ratio: Annotated[float, typer.Option("--mass-ratio", help="first ball's mass over the second's")] = 1.0,
    radius: Radius = RADIUS_M,
    as_json: AsJson = False,
) -> None:
    """Ball to ball: the first moves, the second rests on its +x side; throw is + to the left."""
    found = ball_ball_law(*_motion(velocity, spin), restitution, condition, friction, mass_ratio, radius)
    _law_answer(found, as_json)


@law.command("cushion")
def law_cushion(
    velocity: Velocity,
    spin: Spin,
    restitution: Annotated[float, typer.Option("--restitution", help="energetic")] = RAILS.restitution,
    friction: Annotated[float, typer.Option("--friction", help="nose on ball")] = RAILS.friction,
    nose_height: Annotated[float, typer.Option("--nose-height", help="over the ball's diameter")] = RAILS.nose_height,
    sliding_friction: Annotated[
        float, typer.Option("--sliding-friction", help="of the cloth")
    ] = CLOTH.sliding_friction,
    radius: Radius = RADIUS_M,
    as_json: AsJson = False,
) -> None:
    """Ball to cushion: the rail lies along x, the ball moves toward +y into it."""
    found = cushion_law(*_motion(velocity, spin), restitution, friction, nose_height, sliding_friction, radius)
    _law_answer(found, as_json)
