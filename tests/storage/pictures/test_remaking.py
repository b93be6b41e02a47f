"""Pictures and clips made anew: upright, small, and without a byte of the place, the names or what hung on the end."""

import io
import struct

import av
import numpy as np
import pytest

from made_pictures import PLACE, blocks, encoded, made_clip, made_jpeg, made_png
from pupilage.core.errors import InvalidInput
from pupilage.storage.pictures import remaking
from pupilage.storage.pictures.heads import Head, clip_demuxer, read_head
from pupilage.storage.pictures.remaking import LONGEST_SIDE, fitted, remake_clip, remake_picture, upright


def decoded(body, demuxer="jpeg_pipe"):
    with av.open(io.BytesIO(body), format=demuxer) as container:
        return next(container.decode(video=0)).to_ndarray(format="rgb24")


def corners(pixels):
    """Return the colours in the middle of the four quarters."""
    h, w = pixels.shape[:2]
    return [tuple(int(one) for one in pixels[y, x]) for y in (h // 4, 3 * h // 4) for x in (w // 4, 3 * w // 4)]


@pytest.mark.parametrize("made", [made_png(320, 240), made_jpeg(320, 240)])
def test_picture_keeps_its_colours_and_loses_everything_else(made):
    assert PLACE in made
    found = remake_picture(made)
    for gone in (PLACE, b"Exif", b"<script", b"tEXt", b"Lavc", b"http"):
        assert gone not in found.body
    assert (found.width, found.height) == (320, 240)
    # colours go through two lossy encodings; a wrong range of luma would be off by 16 and more
    assert np.abs(np.array(corners(decoded(found.body))) - np.array(corners(blocks(320, 240)))).max() <= 8


@pytest.mark.parametrize(("codec", "pixels", "off"), [("libwebp", "yuv420p", 12), ("gif", "rgb8", 50)])
def test_other_kinds_of_pictures_are_read_too(codec, pixels, off):
    found = remake_picture(encoded(codec, pixels, 320, 240))
    assert (found.width, found.height) == (320, 240)
    # a GIF of 8 bits has steps of 36 in red and green and 85 in blue
    assert np.abs(np.array(corners(decoded(found.body))) - np.array(corners(blocks(320, 240)))).max() <= off


def test_markers_of_the_new_file_are_only_those_of_a_picture():
    body, at, seen = remake_picture(made_jpeg(320, 240)).body, 2, []
    while body[at + 1] != 0xDA:
        seen.append(body[at + 1])
        at += 2 + struct.unpack(">H", body[at + 2 : at + 4])[0]
    assert set(seen) <= {0xDB, 0xDD, 0xC0, 0xC4}
    assert body.endswith(b"\xff\xd9")


@pytest.mark.parametrize("orientation", range(1, 9))
def test_picture_that_was_held_otherwise_stands_upright(orientation):
    """A picture that a camera turned one way, and says so, comes out as it was seen."""
    seen = blocks(320, 240)
    undo = {1: 1, 2: 2, 3: 3, 4: 4, 5: 5, 6: 8, 7: 7, 8: 6}[orientation]
    assert np.array_equal(upright(upright(seen, undo), orientation), seen)
    found = remake_picture(made_jpeg(320, 240, orientation=orientation))
    assert (found.width, found.height) == ((320, 240) if orientation < 5 else (240, 320))


def test_orientation_six_is_turned_clockwise():
    # CIPA DC-008 (Exif 2.3), orientation 6: row 0 is the visual right-hand side: turned clockwise.
    red_green_blue_grey = corners(decoded(remake_picture(made_jpeg(320, 240, orientation=6)).body))
    kinds = [int(np.argmax(one)) if max(one) - min(one) > 60 else 3 for one in red_green_blue_grey]
    assert kinds == [2, 0, 3, 1]


@pytest.mark.parametrize("value", [0, 9, 77])
def test_orientation_that_is_none_is_upright(value):
    assert read_head(made_jpeg(64, 48, orientation=value)) == Head("jpeg_pipe", 64, 48, 1)


def test_large_picture_is_made_smaller_and_a_small_one_is_not_made_larger():
    assert max(fitted(4000, 3000, LONGEST_SIDE)) == LONGEST_SIDE
    assert fitted(3, 4000, LONGEST_SIDE)[0] == 2
    found = remake_picture(made_png(2000, 1000))
    assert (found.width, found.height) == (1280, 640)
    assert (remake_picture(made_png(64, 48)).width) == 64


@pytest.mark.parametrize(
    "content",
    [
        b"",
        b"<html><script>alert(1)</script></html>",
        b"<svg xmlns='http://www.w3.org/2000/svg'/>",
        b"\xff\xd8",
        b"\xff\xd8\xff\xe0\x00",
        made_png(64, 48)[:60],
        made_jpeg(320, 240)[:200],
        b"GIF89a",
        b"RIFF\0\0\0\0WEBPVP8X",
        b"#EXTM3U\nfile:///etc/passwd",
        b"%PDF-1.7",
        b"\0\0\0\x18ftypheic\0\0\0\0mif1heic",
    ],
)
def test_what_is_no_picture_is_refused_in_words(content):
    with pytest.raises(InvalidInput):
        remake_picture(content)


def test_picture_that_would_fill_the_memory_is_refused_before_it_is_opened(monkeypatch):
    monkeypatch.setattr(remaking, "_first_frame", lambda *_: pytest.fail("it was opened"))
    png = bytearray(made_png(64, 48))
    png[16:24] = struct.pack(">II", 50_000, 50_000)
    with pytest.raises(InvalidInput, match="too large"):
        remake_picture(bytes(png))


def test_clip_plays_with_its_sound_and_without_its_place():
    made = made_clip(1.0, width=800, height=600)
    assert PLACE in made
    found = remake_clip(made, with_sound=True)
    assert PLACE not in found.body
    assert b"ISO6709" not in found.body
    assert (found.width, found.height) == (640, 480)
    with av.open(io.BytesIO(found.body)) as container:
        assert sorted(one.type for one in container.streams) == ["audio", "video"]
        assert container.streams.video[0].codec_context.name == "h264"
        assert container.duration / 1e6 == pytest.approx(1.0, abs=0.15)
        assert set(container.metadata) <= {"major_brand", "minor_version", "compatible_brands", "encoder"}
    assert found.body.index(b"moov") < found.body.index(b"mdat")


def test_clip_goes_without_its_sound_unless_that_was_asked_for():
    with av.open(io.BytesIO(remake_clip(made_clip(0.5), with_sound=False).body)) as container:
        assert [one.type for one in container.streams] == ["video"]


def test_long_clip_is_refused_and_not_cut_in_silence(monkeypatch):
    monkeypatch.setattr(remaking, "LONGEST_CLIP_S", 1.0)
    with pytest.raises(InvalidInput, match="longer than 1 seconds"):
        remake_clip(made_clip(2.0), with_sound=False)


@pytest.mark.parametrize("content", [b"", b"\0\0\0\x18ftypmp42", made_clip(0.5)[:400], b"\x1a\x45\xdf\xa3" + b"x" * 90])
def test_what_is_no_clip_is_refused_in_words(content):
    with pytest.raises(InvalidInput):
        remake_clip(content, with_sound=True)


def test_kind_of_a_clip_is_read_from_its_first_bytes():
    assert clip_demuxer(made_clip(0.5)) == "mov"
    assert clip_demuxer(made_png(64, 48)) is None
    for brand in (b"heic", b"mif1", b"avif"):
        assert clip_demuxer(b"\0\0\0\x18ftyp" + brand + b"\0\0\0\0") is None
