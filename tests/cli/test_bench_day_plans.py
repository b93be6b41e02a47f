"""`pupilage bench day-plans` on one short day: what it prints of speed, proof and memory."""

import json
from datetime import time

from day_frames import day_frame
from pupilage.cli.commands import bench_day_plans


def test_bench_prints_each_figure_beside_its_goal(monkeypatch, capsys):
    short = day_frame(wake=time(14), last_outing=time(20), meals=day_frame().meals[:2], sessions=())
    monkeypatch.setattr(bench_day_plans, "days", lambda: {"short": short})
    bench_day_plans.day_plans.callback(repeats=1, as_json=True)
    rows = {row["what"]: row for row in json.loads(capsys.readouterr().out)}
    assert rows["first plan"]["goal"] == "under 0.1 s"
    assert "optimal, gap 0.0%" in rows["proven optimum"]["how"]
    assert rows["planned again 0.5 h after waking"]["how"] == "an accident; optimal"
    assert rows["memory of the process"]["measured"].endswith(" MB")


def test_days_of_the_bench_can_be_planned():
    from pupilage.core.planning.day.planning import first_plan

    days = bench_day_plans.days()
    assert len(days) == 5
    assert all(first_plan(frame).blocks for frame in days.values())
