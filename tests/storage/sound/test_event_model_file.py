"""A real ONNX file, written here byte by byte, is run through onnxruntime; a wrong one is refused in words.

The onnx package is not needed: the model is three nodes in protocol buffers (fields numbered as in onnx.proto,
ONNX 1.16): Abs, ReduceMax over the samples, Mul by a constant of one factor a class.
"""

import struct

import numpy as np
import pytest

from pupilage.core.errors import InvalidInput
from pupilage.core.recordings.noises.event_model import WINDOW
from pupilage.storage.sound.event_model import OnnxEventModel

pytest.importorskip("onnxruntime", reason="the sound extra is not installed")


def varint(n):
    out = bytearray()
    while True:
        out.append((n & 0x7F) | (0x80 if n > 0x7F else 0))
        n >>= 7
        if not n:
            return bytes(out)


def number(field, n):
    return varint(field << 3) + varint(n)


def part(field, content):
    raw = content.encode() if isinstance(content, str) else content
    return varint(field << 3 | 2) + varint(len(raw)) + raw


def node(kind, inputs, output, *attributes):
    return part(1, b"".join(part(1, one) for one in inputs) + part(2, output) + part(4, kind) + b"".join(attributes))


def whole_number(name, values, *, many):
    kind = number(20, 7 if many else 2)
    body = b"".join(number(8 if many else 3, value) for value in values)
    return part(5, part(1, name) + body + kind)


def tensor_info(field, name, shape):
    dims = b"".join(part(1, number(1, size)) for size in shape)
    return part(field, part(1, name) + part(2, part(1, number(1, 1) + part(2, dims))))


def loudness_model(factors, *, n_samples=WINDOW):
    """Return the bytes of a model whose score for class k is factors[k] times the largest absolute sample."""
    weights = part(
        5,
        number(1, 1)
        + number(1, len(factors))
        + number(2, 1)
        + part(8, "w")
        + part(9, struct.pack(f"<{len(factors)}f", *factors)),
    )
    graph = (
        node("Abs", ["sound"], "a")
        + node("ReduceMax", ["a"], "m", whole_number("axes", [1], many=True), whole_number("keepdims", [1], many=False))
        + node("Mul", ["m", "w"], "scores")
        + part(2, "loudness")
        + weights
        + tensor_info(11, "sound", [1, n_samples])
        + tensor_info(12, "scores", [1, len(factors)])
    )
    return number(1, 8) + part(7, graph) + part(8, part(1, "") + number(2, 13))


@pytest.fixture
def files(tmp_path):
    model, classes = tmp_path / "loud.onnx", tmp_path / "classes.csv"
    model.write_bytes(loudness_model([0.5, 2.0]))
    classes.write_text("index,display_name\n0,Speech\n1,Bark\n", encoding="utf-8")
    return model, classes


def test_a_model_file_answers_with_its_scores(files):
    model = OnnxEventModel(*files)
    window = np.zeros(WINDOW, np.float32)
    window[100] = -0.25
    np.testing.assert_allclose(model.scores(window), [0.125, 0.5])
    assert model.classes == ("Speech", "Bark")


def test_a_list_that_does_not_fit_the_model_is_refused_with_both_counts(files):
    files[1].write_text("Speech\nBark\nDog\n", encoding="utf-8")
    with pytest.raises(InvalidInput, match="answers with 2 classes, the list names 3"):
        OnnxEventModel(*files)


def test_a_model_of_another_length_is_refused(files):
    files[0].write_bytes(loudness_model([0.5, 2.0], n_samples=8000))
    with pytest.raises(InvalidInput, match="cannot hear"):
        OnnxEventModel(*files)


def test_a_text_called_onnx_and_a_missing_file_are_refused(files, tmp_path):
    files[0].write_text("no model", encoding="utf-8")
    with pytest.raises(InvalidInput, match="no ONNX model"):
        OnnxEventModel(*files)
    with pytest.raises(InvalidInput, match="no ONNX model"):
        OnnxEventModel(tmp_path / "none.onnx", files[1])
    with pytest.raises(InvalidInput, match="cannot be read"):
        OnnxEventModel(files[0], tmp_path / "none.csv")
