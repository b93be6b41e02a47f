"""Keeping the tokens of links out of the log: whoever reads a log must not be able to open one."""

import logging
import re
from typing import Any

TOKEN = re.compile(r"(/(?:for|calendar|sign-in|pair)/)[^/\s?\"']+")


class HideTokens(logging.Filter):
    """Writes `/for/…` in the place of a link's address, in the message and in what is put into it."""

    def filter(self, record: logging.LogRecord) -> bool:
        record.msg = _hidden(record.msg)
        if isinstance(record.args, tuple):
            record.args = tuple(_hidden(one) for one in record.args)
        return True


def _hidden(value: Any) -> Any:
    return TOKEN.sub(r"\1…", value) if isinstance(value, str) else value
