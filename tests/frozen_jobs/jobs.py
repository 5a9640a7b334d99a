"""Which jobs are frozen: the samples in every dialect, random turned parts, squares and holes, screws."""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence
from random import Random
from typing import NamedTuple

from posts.dialect import dialect_names
from tests.mill_parts import MillCase
from tests.mill_variants import PINNED, VARIANTS, changed
from tests.search.draw import draw_part, draw_shop
from tests.search.fixes import ways
from tests.search.spec import Part
from tests.sheets.jobs import draw_until, odd_texts
from tests.sheets.mills import MILL_JOBS, Slides, slides_of
from tests.specimens import SAMPLES
from tests.test_hook import ENCODER, VEE, WHEELS

ROUNDS = 4
"""How often a random part that is refused is changed as its refusal says; each change is a job of its own."""


class Job(NamedTuple):
    """What a job is made from.

    Attributes:
        name: the folder in which its texts are kept. part, shop: text of the two files.
        file: name of the part file. dialect: of all its programs; "" for what the shop file says.
        drawn: a random part that can be changed as a refusal says.
    """

    name: str
    part: str
    shop: str
    file: str = "part.toml"
    dialect: str = ""
    drawn: Part | None = None


def fixed(job: Job, refusals: Sequence[str]) -> Job | None:
    """Return the job with its part changed as each refusal says; None where none says how, or after so many rounds."""
    name, _, before = job.name.partition(" fixed ")
    times = int(before or 0) + 1
    if job.drawn is None or times > ROUNDS:
        return None
    part = job.drawn
    for refusal in refusals:
        if found := ways(part, refusal):
            part = found[0][1]
    return None if part is job.drawn else Job(f"{name} fixed {times}", part.text(), job.shop, drawn=part)


def all_jobs(count: int, seed: int) -> Iterator[Job]:
    """Draw all of them, the slow ones first.

    Args:
        count: number of random jobs; one in ten of them is for the mill too, one in ten has dials of every kind.
        seed: start of all that is random; the same seed gives the same jobs.
    """
    yield from _samples()
    yield from _milled()
    yield from _screws()
    yield from _random_mills(count // 10, seed)
    for number in range(count - count // 10):
        rng = Random(f"{seed}-{number}")
        if number % 9 == 8:
            part, shop = odd_texts(rng)
            yield Job(f"dials-{number}", part, shop)
        else:
            drawn = draw_shop(rng)
            one = draw_part(rng, drawn.shop)
            yield Job(f"turned-{number}", one.text(), drawn.text, drawn=one)


def _samples() -> Iterator[Job]:
    shop = (SAMPLES / "shop.toml").read_text("utf-8")
    for path in sorted(SAMPLES.glob("*.toml")):
        text = path.read_text("utf-8")
        if path.name != "shop.toml":
            yield from (Job(f"{path.stem}-{d}", text, shop, path.name, d) for d in dialect_names())


def _milled() -> Iterator[Job]:
    """Return the drum arbor's square and hole in every variant, in the dialects by turns."""
    part, shop = ((SAMPLES / name).read_text("utf-8") for name in ("orrery-drum-arbor.toml", "shop.toml"))
    dialects = dialect_names()
    for number, (name, (of_part, of_shop)) in enumerate(VARIANTS.items()):
        texts = changed(part, PINNED + of_part), changed(shop, of_shop)
        yield Job(f"mill {name}", *texts, dialect=dialects[number % len(dialects)])


def _screws() -> Iterator[Job]:
    """Return the drum hook's screw cut by the program, by encoder and by change wheels."""
    text = (SAMPLES / "drum-hook.toml").read_text("utf-8").replace('thread_by = "die"', 'thread_by = "single point"')
    part, shop = re.sub(r"corner_b = .*\n", "", text), (SAMPLES / "shop.toml").read_text("utf-8") + VEE
    for name, said in (("encoder", ENCODER), ("wheels", WHEELS)):
        geared = shop.replace("[lathe.x]\n", f"[lathe.threading]\n{said}\n[lathe.x]\n", 1)
        yield from (Job(f"screw {name} {d}", part, geared, dialect=d) for d in dialect_names())


def _random_mills(count: int, seed: int) -> Iterator[Job]:
    drawn: list[Job] = []

    def take(example: tuple[MillCase, str, Slides, str]) -> bool:
        case, way, slides, units = example
        shop = case.shops[way].replace("{units}", units) + slides_of(slides)
        drawn.append(Job(f"milled-{len(drawn)}", f'shop = "shop.toml"\n{case.part}', shop))
        return len(drawn) < count

    if count:
        draw_until(MILL_JOBS, seed, take)
    yield from drawn
