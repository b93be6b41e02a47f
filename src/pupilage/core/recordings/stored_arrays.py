"""Arrays as bytes that a database keeps: numpy's own zipped form, read without pickles and with what made them."""

import io
import json
import zipfile
from collections.abc import Mapping

import numpy as np
from numpy.typing import NDArray

from pupilage.core.errors import InvalidInput

Arrays = Mapping[str, NDArray[np.generic]]
_HEAD = "head"
UNREADABLE = "What was learned of this {kind} cannot be read; it has to be learned again."


def to_bytes(kind: str, arrays: Arrays, *, made_by: str = "", texts: Mapping[str, object] | None = None) -> bytes:
    """Return arrays with what they are, what made them and some plain values, as bytes.

    kind: "word model", "word sample" and so on; made_by: the hash of the embedding's file, "" where none was used.
    """
    head = json.dumps({"kind": kind, "made_by": made_by, "texts": dict(texts or {})}).encode()
    kept = io.BytesIO()
    # mypy takes allow_pickle for one of the arrays
    np.savez_compressed(kept, **{_HEAD: np.frombuffer(head, np.uint8), **arrays})  # type: ignore[arg-type]
    return kept.getvalue()


def from_bytes(
    kind: str, kept: bytes, *, made_by: str = ""
) -> tuple[dict[str, NDArray[np.generic]], dict[str, object]]:
    """Return (arrays, plain values) of what `to_bytes` gave.

    Raises InvalidInput for bytes that are damaged, of another kind, or made by another embedding: numbers of two must
    never be mixed.
    """
    try:
        with np.load(io.BytesIO(kept), allow_pickle=False) as opened:
            arrays = {name: opened[name] for name in opened.files}
        head = json.loads(arrays.pop(_HEAD).tobytes())
        found_kind, found_maker, texts = head["kind"], head["made_by"], dict(head["texts"])
    except (OSError, ValueError, KeyError, TypeError, AttributeError, zipfile.BadZipFile, EOFError) as error:
        raise InvalidInput.of("model", UNREADABLE, kind=kind) from error
    if found_kind != kind:
        raise InvalidInput.of("model", UNREADABLE, kind=kind)
    if found_maker != made_by:
        raise InvalidInput.of(
            "model",
            "This {kind} was learned with another model of sound than is installed now. Learn it again from the "
            "samples' sound, or record them anew.",
            kind=kind,
        )
    return arrays, texts
