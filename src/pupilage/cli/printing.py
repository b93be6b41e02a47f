"""How a command answers: as JSON for programs, as text and tables for people."""

import json
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import fields, is_dataclass
from datetime import date, datetime, timedelta, tzinfo
from enum import Enum
from math import isfinite
from typing import Any
from uuid import UUID

import click

from pupilage.core.words import Sentence

json_option = click.option("--json", "as_json", is_flag=True, help="Print JSON for programs instead of text.")


def print_json(value: Any) -> None:
    """Print a value of core's types as JSON."""
    click.echo(json.dumps(plain(value), ensure_ascii=False, indent=2))


def plain(value: Any) -> Any:
    """Return a value in JSON's own types: dates in ISO 8601, sentences as text, tuples as lists, no infinity."""
    if isinstance(value, Sentence | UUID | tzinfo):
        return str(value)
    if is_dataclass(value) and not isinstance(value, type):
        return {field.name: plain(getattr(value, field.name)) for field in fields(value)}
    if isinstance(value, Enum):
        return value.value
    if isinstance(value, datetime | date):
        return value.isoformat()
    if isinstance(value, timedelta):
        return value.total_seconds()
    if isinstance(value, Mapping):
        return {str(key): plain(one) for key, one in value.items()}
    if isinstance(value, list | tuple | set | frozenset):
        return [plain(one) for one in value]
    if isinstance(value, float) and not isfinite(value):
        return None
    return value


def print_table(headers: Sequence[str], rows: Iterable[Sequence[str]]) -> None:
    """Print a table as wide as the terminal, or as wide as it must be where there is none."""
    from rich.box import SIMPLE_HEAD
    from rich.console import Console
    from rich.table import Table

    table = Table(*headers, box=SIMPLE_HEAD, pad_edge=False)
    for row in rows:
        table.add_row(*row)
    console = Console(highlight=False, markup=False, emoji=False)
    if not console.is_terminal:
        console.width = 200
    console.print(table)
