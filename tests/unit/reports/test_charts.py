"""Charts: one look, one drawing for light and dark, nothing that a strict policy refuses, and a text for everyone."""

import re
import subprocess
import sys
from xml.etree import ElementTree

import altair as alt
from django.template import Context, Template

from pupilage.core.words import sentence
from pupilage.reports.charts.chart import Chart
from pupilage.reports.charts.style import WIDTH_PX, finish, rows
from pupilage.reports.charts.svg import VEGA_LITE, svg_of

NARROWEST_PX = 340


def chart_of(label: str = "first", says: str = "One line.") -> Chart:
    data = rows([{"x": n, "y": n * n, "label": label} for n in range(4)])
    drawn = alt.Chart(data).encode(x=alt.X("x:Q", title="Day"), y=alt.Y("y:Q", title="How often"))
    labelled = drawn.mark_text().encode(text="label:N")
    return Chart(finish(alt.layer(drawn.mark_line(), drawn.mark_point(), labelled), height_px=200), sentence(says))


def test_drawing_holds_no_style_no_script_and_nothing_from_elsewhere() -> None:
    root = ElementTree.fromstring(svg_of(chart_of()))  # noqa: S314 - our own drawing
    for element in root.iter():
        assert element.tag.split("}")[1] in {"svg", "g", "path", "line", "text", "rect"}
        assert not [name for name in element.attrib if name == "style" or name.startswith("on") or "href" in name]


def test_every_colour_is_one_of_the_notebooks() -> None:
    colours = set(re.findall(r'(?:fill|stroke)="([^"]+)"', svg_of(chart_of())))
    assert colours <= {"none", "transparent", *(f"var(--{name})" for name in ("ink", "pencil", "pen", "rule", "sheet"))}


def test_text_is_11_px_or_more_on_the_narrowest_phone() -> None:
    sizes = [float(size) for size in re.findall(r'font-size="([\d.]+)px"', svg_of(chart_of()))]
    assert sizes
    assert min(sizes) * (NARROWEST_PX - 32) / WIDTH_PX >= 11.0


def test_drawing_is_as_wide_as_a_phones_page() -> None:
    assert f'viewBox="0 0 {WIDTH_PX} 200"' in svg_of(chart_of())


def test_label_cannot_break_out_of_the_drawing() -> None:
    drawn = svg_of(chart_of('</svg><script>x</script>&"'))
    assert "<script" not in drawn
    assert "&lt;script&gt;" in drawn


def test_caption_is_the_drawings_alternative_text() -> None:
    chart = chart_of(says="Rarer since Tuesday; that is fairly sure.")
    page = Template("{% chart it %}").render(Context({"it": chart}))
    (named_by,) = re.findall(r'<svg role="img" aria-labelledby="([^"]+)"', page)
    assert f'<figcaption id="{named_by}">Rarer since Tuesday; that is fairly sure.</figcaption>' in page


def test_equal_charts_have_one_key_and_others_another() -> None:
    assert chart_of().key == chart_of().key
    assert chart_of().key != chart_of("second").key


def test_altair_and_the_drawing_machine_speak_the_same_vega_lite() -> None:
    assert f"v{VEGA_LITE}." in alt.SCHEMA_VERSION + "."


def test_command_line_starts_without_altair_and_without_the_drawing_machine() -> None:
    code = (
        "import sys; import pupilage.cli.main; from pupilage.cli.project import start_django; start_django();"
        "import pupilage.services.read_incidents;"
        "assert not {'altair', 'vl_convert'} & set(sys.modules)"
    )
    assert subprocess.run([sys.executable, "-c", code], check=False, timeout=60).returncode == 0
