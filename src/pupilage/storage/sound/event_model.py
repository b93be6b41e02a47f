"""A sound-event model that the user supplies as an ONNX file, with a CSV that names its classes."""

from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

from pupilage.core.errors import InvalidInput
from pupilage.core.recordings.noises.event_model import WINDOW, dog_classes, read_class_names


class OnnxEventModel:
    """The model in a session of one thread. It may answer for one window in several rows; their mean counts.

    Raises InvalidInput, in words, for a file that is missing or no model, a wrong input, or classes that do not fit.
    """

    def __init__(self, model: Path, classes: Path) -> None:
        self.classes = read_class_names(_text(classes))
        dog_classes(self.classes)
        self._session = _session(model)
        inputs = self._session.get_inputs()
        if len(inputs) != 1 or len(inputs[0].shape) not in (1, 2):
            raise InvalidInput.of(
                "model", "The model “{name}” does not take plain sound; give one that does.", name=model.name
            )
        self._input, self._n_axes = inputs[0].name, len(inputs[0].shape)
        n = len(self.scores(np.zeros(WINDOW, np.float32)))
        if n != len(self.classes):
            raise InvalidInput.of(
                "classes",
                "The model answers with {n} classes, the list names {named}; give the list that belongs to it.",
                n=n,
                named=len(self.classes),
            )

    def scores(self, window: NDArray[np.float32]) -> NDArray[np.float32]:
        """Return one score a class for a window of 0.96 s at 16 kHz."""
        sound = np.ascontiguousarray(window, np.float32)
        try:
            answer = self._session.run(None, {self._input: sound if self._n_axes == 1 else sound[None]})[0]
        except Exception as error:  # the runtime raises errors of many kinds of its own
            raise InvalidInput.of(
                "model", "The model cannot hear 0.96 s of sound at 16 kHz; give one that can."
            ) from error
        rows = np.asarray(answer, np.float32)
        return np.asarray(rows.reshape(-1, rows.shape[-1]).mean(axis=0) if rows.ndim else rows.reshape(1), np.float32)


def _text(path: Path) -> str:
    try:
        return path.read_text(encoding="utf-8-sig")
    except (OSError, UnicodeDecodeError) as error:
        raise InvalidInput.of(
            "classes", "The list of classes “{name}” cannot be read; give a CSV in UTF-8.", name=path.name
        ) from error


def _session(path: Path) -> Any:
    try:
        import onnxruntime
    except ImportError as error:
        raise InvalidInput.of(
            "model", "A sound model needs the package “onnxruntime”; install it with pip install “pupilage[sound]”."
        ) from error
    options = onnxruntime.SessionOptions()
    options.intra_op_num_threads = options.inter_op_num_threads = 1
    options.log_severity_level = 3
    try:
        return onnxruntime.InferenceSession(str(path), options, providers=["CPUExecutionProvider"])
    except Exception as error:  # as above
        raise InvalidInput.of(
            "model", "“{name}” is no ONNX model that can be run; give another file.", name=path.name
        ) from error
