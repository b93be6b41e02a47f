"""The forecasts' own examination, from the command line."""

import json


def test_every_figure_stands_beside_its_goal(run):
    done = run("bench", "forecasts", "--behaviours", "30", "--json")
    assert done.exit_code == 0
    rows = json.loads(done.stdout)
    assert {row["learning rates"] for row in rows} == {"as drawn", "× 0.6"}
    goals = {(row["learning rates"], row["what"]): row["goal"] for row in rows}
    assert goals["as drawn", "day 5: calibration error"] == "at most 0.03"
    assert goals["× 0.6", "day 15: calibration error"] == "at most 0.06"
    assert goals["as drawn", "90 % intervals that hold, last seven days"] == "87–93 %"
