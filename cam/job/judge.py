"""Any program text, also one edited by hand, compared with a setting of a part."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

from cam.ground.problem import ProblemError, refusal
from cam.job.dialects import fit_lathe
from cam.job.explain import contradictions, explain, other_dialect, warn_of_ends
from cam.job.given import choose_dialect, no_control, read_given, read_text, settings_of
from cam.job.make import move_outline, really_cut, rules_of
from cam.job.model import Verdict

if TYPE_CHECKING:
    from cam.geometry.path import Chain
    from cam.judge.sizes import Size
    from cam.lengths.solved import Solved
    from cam.rs274.model import Program
    from cam.setting.model import Setting
    from cam.shop.model import Shop

NO_CHANGE = 1e-3
"""A size that comes out this near to its aim, mm, was not changed."""


def judge_program(
    program_path: str, part_path: str, number: int, shop_path: str | None = None, *, dialect: str | None = None,
    from_pass: int | None = None, reground: bool = False, piece: str = "",
) -> Verdict:  # fmt: skip
    """Judge any program text, also one edited by hand, against one setting of a part.

    Args:
        program_path: path of the text.
        part_path: path of the part file.
        shop_path: path of the shop file; None takes the one that the part file names.
        number: number of the setting.
        dialect: dialect of the text; None takes the shop file's. piece: name of one of several workpieces.
        from_pass: pass at which it is begun, with everything before it done; None judges the whole.
        reground: whether the tool was ground before that pass, so that it is set anew on what stands.
    Returns:
        What was found. Problems in the text are part of it and are not raised.
    Raises:
        ProblemError: a file cannot be read, a wrong part or shop, no such setting, pass or dialect, no control.
    """
    from cam.judge import simulate
    from cam.judge.fixes import describe_findings
    from cam.rs274 import read_program
    from cam.rs274.begin import begin_at

    text = read_text(program_path)
    part, shop = read_given(part_path, shop_path, piece)
    if shop.lathe.by_hand:
        raise ProblemError([no_control(shop, f"endshake summary {part_path} has each setting's page")])
    settings = settings_of(part, shop, number)
    chosen = choose_dialect(dialect, shop)
    shop = fit_lathe(shop, chosen)
    rules, begun = rules_of(chosen, shop), None
    if from_pass is not None:
        begun = begin_at(text, rules, program_path, from_pass)._replace(reground=reground)
    program = read_program(text, rules, program_path) if begun is None else begun.program
    stock = _left_before(part, settings, number)
    material = shop.materials[part.stock.material]
    simulation = simulate(
        program if begun is None else begun,
        settings[number],
        shop,
        stock=stock,
        material=material,
        stops=True,
        limits=True,
    )
    problems = explain(
        (*program.problems, *describe_findings(simulation.findings, text, program_path)),
        contradictions(text, program_path, shop.lathe.control.x_words),
        program.problems,
    )
    warnings = explain(describe_findings(simulation.warnings, text, program_path))
    if strange := other_dialect(text, program_path, program.standard):
        problems, warnings = (strange,), ()
    return Verdict(
        part=part, shop=shop, setting=settings[number], stock=stock, path=program_path, program=program,
        simulation=simulation, problems=problems,
        warnings=(*warn_of_ends(text, program_path, shop.lathe.control.facts), *warnings),
        changes=() if problems else tuple(_changes(program, settings[number], shop, stock)), begun=begun,
    )  # fmt: skip


def _changes(program: Program, setting: Setting, shop: Shop, stock: Chain | None) -> Iterator[Size]:
    """Return sizes within their limits that come out away from their aim, as the shop's slides cut them."""
    from cam.judge.sizes import cut_sizes

    lathe = shop.lathe
    for size in cut_sizes(program, setting, shop, float(lathe.x.backlash), float(lathe.z.backlash), stock=stock):
        if size.what in ("diameter", "taper", "shoulder") and max(abs(size.least), abs(size.most)) > NO_CHANGE:
            yield size


def judge_backlash(verdict: Verdict, backlash: str) -> tuple[Size, ...]:
    """Return the sizes that a program would really cut on slides with backlash.

    Args:
        backlash: backlash of both slides, with its unit; "shop" takes each slide's own from the shop file.
    Raises:
        ProblemError: the backlash is no length.
    """
    from cam.ground.units import LENGTH, QuantityError, parse
    from cam.judge.sizes import cut_sizes

    lathe = verdict.shop.lathe
    x, z = float(lathe.x.backlash), float(lathe.z.backlash)
    if backlash != "shop":
        try:
            x = z = parse(backlash, LENGTH, least=0.0, most=5.0)
        except QuantityError as error:
            raise refusal("--backlash", str(error), given=backlash, allowed="shop, or a length") from error
    return cut_sizes(verdict.program, verdict.setting, verdict.shop, x, z, stock=verdict.stock)


def _left_before(part: Solved, settings: dict[int, Setting], number: int) -> Chain | None:
    """The deepest that the setting before may have cut, in the axes of this one; None for the first setting.

    No more can be asked of a program judged by itself: it need not meet metal that its forerunner may have left.
    None also where sizes are recorded as really cut: then the setting's own stock is what there is.
    """
    before = settings.get(number - 1) if not really_cut(part) else None
    return None if before is None else move_outline(before.least, before, settings[number])
