"""Whole part files that are refused before anything is planned, each named for its fault, and what is said of it.

Each file in tests/bad/job begins with its expected problems, one `# expect:` line for each, in any order; pieces of one
message are separated by " | ". No other problem may be reported. A refusal speaks of lines of the part file.
"""

from __future__ import annotations

from pathlib import Path

import pytest

from cam.ground.problem import ProblemError
from cam.job import make_job
from tests.test_part_bad import expected

BAD = sorted((Path(__file__).parent / "bad" / "job").glob("*.toml"))


def test_there_are_some():
    assert len(BAD) >= 3


@pytest.mark.parametrize("path", BAD, ids=lambda path: path.stem)
def test_the_fault_is_found_and_nothing_else(path):
    with pytest.raises(ProblemError) as caught:
        make_job(str(path))
    texts = [str(problem) for problem in caught.value.problems]
    for wanted in expected(path):
        found = [text for text in texts if all(piece in text for piece in wanted)]
        assert len(found) == 1, f"{wanted}\n--- said:\n" + "\n".join(texts)
        texts.remove(found[0])
    assert texts == []
    assert all(p.where.path == str(path) and p.where.line > 0 and p.fix for p in caught.value.problems)
