"""Where templates are found, and the few filters that they may use."""

from __future__ import annotations

import sys
from contextlib import suppress
from functools import lru_cache, partial
from pathlib import Path

from jinja2 import (
    BaseLoader,
    ChoiceLoader,
    Environment,
    FileSystemBytecodeCache,
    FileSystemLoader,
    StrictUndefined,
    Template,
    pass_context,
)
from jinja2.bccache import Bucket
from jinja2.runtime import Context

from posts.wording import comment_lines, number, plain

TEMPLATES = Path(__file__).parent.parent / "templates"


def find_template(name: str, folder: Path | None = None) -> Template:
    """Find a template of the tool's own, or a user's in a folder, which then runs in a sandbox.

    A user's template may include and import those that come with the tool.

    Raises:
        jinja2.TemplateError: there is no such template, or it cannot be compiled.
    """
    return _environment(str(folder) if folder else "").get_template(name)


@lru_cache(maxsize=4)
def find_markup(name: str) -> Template:
    """Find a template of the tool's own for HTML or SVG, in which every text is escaped."""
    environment = Environment(
        loader=FileSystemLoader(TEMPLATES), undefined=StrictUndefined, autoescape=True, trim_blocks=True,
        lstrip_blocks=True, keep_trailing_newline=True, auto_reload=False, bytecode_cache=template_cache(),
    )  # fmt: skip
    return environment.get_template(name)


class _Compiled(FileSystemBytecodeCache):
    """Compiled templates, kept where Python keeps its own compiled modules; compiling them takes longer than a job.

    Where nothing may be written there, they are compiled every time.
    """

    def dump_bytecode(self, bucket: Bucket) -> None:
        """Keep one compiled template, where it can be written."""
        with suppress(OSError):
            Path(self.directory).mkdir(exist_ok=True)
            super().dump_bytecode(bucket)


def template_cache() -> FileSystemBytecodeCache | None:
    """Return the cache of the tool's own compiled templates; None where Python is told to keep nothing."""
    return None if sys.dont_write_bytecode else _Compiled(str(TEMPLATES / "__pycache__"))


@lru_cache(maxsize=4)
def _environment(folder: str) -> Environment:
    kind: type[Environment] = Environment
    loader: BaseLoader = FileSystemLoader(TEMPLATES)
    if folder:
        from jinja2.sandbox import ImmutableSandboxedEnvironment as kind  # noqa: N813, PLC0415

        loader = ChoiceLoader([FileSystemLoader(folder), loader])
    # no autoescape: this is plain text; comments and pages have filters of their own
    environment = kind(
        loader=loader, undefined=StrictUndefined, trim_blocks=True, lstrip_blocks=True, keep_trailing_newline=True,
        auto_reload=False, bytecode_cache=None if folder else template_cache(),
    )  # fmt: skip
    comment, message = (pass_context(partial(_comment, shown=shown)) for shown in (False, True))
    environment.filters.update(number=number, plain=plain, comment=comment, message=message)
    return environment


def _comment(context: Context, text: str, *, shown: bool) -> str:
    """Write every line of text as a comment of the dialect at work, shown to the operator where it can say so."""
    lines = comment_lines(text, context["dialect"], message=shown, width=context.get("comment_width"))
    return "".join(f"{line}\n" for line in lines)
