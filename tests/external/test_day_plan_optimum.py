"""The best timetable, against exhaustive search on a short day and against OR-Tools' CP-SAT on a longer one.

Both are outside: the search tries every chain of awake blocks and weighs the written blocks, and CP-SAT (Perron and
Didier, OR-Tools, version 9.15) gets the rules as constraints and proves its optimum by itself. All three take the
table of block shapes as given; that the shapes keep the rules is the checker's to say (`test_day_plans.py`).
"""

from collections.abc import Iterator
from dataclasses import replace
from datetime import time

import pytest
from ortools.sat.python import cp_model

from day_frames import appointment, at, day_frame, session
from pupilage.core.care.toilet.limits import OutingLimits
from pupilage.core.planning.day.blocks import BlockKind
from pupilage.core.planning.day.frame import DayFrame, DayMeal
from pupilage.core.planning.day.outline import Outline, Stay
from pupilage.core.planning.day.planning import plan_day
from pupilage.core.planning.day.rules import SoftRule
from pupilage.core.planning.day.task import SHORTEST_NAP, Task, fewest_outings, task_of
from pupilage.core.planning.day.weighing import cost_of, weigh
from pupilage.core.planning.day.writing import write_blocks

SHORT = day_frame(
    wake=time(18),
    last_outing=time(20, 5),
    limits=OutingLimits(40, 90, 480),
    meals=(DayMeal(40.0, usual=time(19)),),
    sessions=(session("sit"),),
    exposures=(),
    play_min=0,
    chew_min=10,
    resident_min=None,
    quiet=(),
)

LONGER = replace(
    SHORT,
    wake=time(14),
    last_outing=time(20),
    meals=(DayMeal(40.0, usual=time(15)), DayMeal(40.0, usual=time(18, 30))),
    sessions=(session("sit"), session("down")),
    play_min=20,
)

BUSY = replace(LONGER, appointments=(appointment(at(16, 10), 50), appointment(at(18), 15, "vet", comes_along=True)))


def every_chain(task: Task, chain: tuple[Stay, ...] = (), start: int = 0) -> Iterator[tuple[Stay, ...]]:
    """Yield every chain of blocks and naps from a slot to the day's end, whatever it holds."""
    for shape in task.shapes:
        for end in range(start + shape.length, min(start + shape.length + shape.stretch, task.end) + 1):
            stays = (*chain, Stay(start, end, shape))
            if end == task.end:
                if not shape.chew:
                    yield stays
                continue
            for later in range(end + SHORTEST_NAP, min(end + task.longest_nap(shape), task.last_out) + 1):
                yield from every_chain(task, stays, later)


def holds_what_is_wanted(task: Task, chain: tuple[Stay, ...]) -> bool:
    counts = {kind: sum(stay.shape.count(kind) for stay in chain) for kind in (BlockKind.MEAL, BlockKind.SESSION)}
    chews = sum(bool(stay.shape.chew) for stay in chain)
    return (
        counts[BlockKind.MEAL] == task.n[BlockKind.MEAL]
        and counts[BlockKind.SESSION] <= task.n[BlockKind.SESSION]
        and chews <= task.n[BlockKind.CHEW]
    )


@pytest.mark.parametrize("session_weight", [100.0, 5.0])
def test_best_plan_of_a_short_day_is_that_of_exhaustive_search(session_weight):
    """No tolerance: costs are whole hundredths."""
    frame = replace(SHORT, weights={"session-left-out": session_weight, "meal-times": 3.0})
    task = task_of(frame)
    costs = [
        cost_of(weigh(frame, write_blocks(task, Outline(chain))))
        for chain in every_chain(task)
        if holds_what_is_wanted(task, chain)
    ]
    assert len(costs) > 100
    assert cost_of(plan_day(frame).broken) == min(costs)


class Chain:
    """The day as a CP-SAT model: so many blocks at most, one shape each, and a price for each soft rule."""

    def __init__(self, frame: DayFrame, n_blocks: int) -> None:
        self.frame, self.task, self.model = frame, task_of(frame), cp_model.CpModel()
        self.shapes = [*self.task.shapes, *(shape for _, shape in self.task.along)]
        self.along = {id(shape): start for start, shape in self.task.along}
        self.cost = 0
        self.use, self.start, self.end, self.active = [], [], [], []
        for _ in range(n_blocks):
            self.add_block()
        self.link()
        self.keep_off()
        for kind, number, targets, rule, tolerance in (
            (BlockKind.MEAL, self.task.n[BlockKind.MEAL], self.task.meal_targets, SoftRule.MEAL_TIMES, 0),
            (BlockKind.SESSION, self.task.n[BlockKind.SESSION], self.task.session_targets, SoftRule.SESSIONS_SPREAD, 6),
        ):
            self.place(kind, number, targets, (rule, tolerance))
        self.count()

    def price(self, rule: SoftRule, amount) -> None:
        self.cost += round(100 * self.frame.weight(rule)) * amount

    def over(self, amount=0):
        """Return a variable that is the larger of 0 and the amount once its price is made small."""
        found = self.model.new_int_var(0, 1000, "")
        self.model.add(found >= amount)
        return found

    def add_block(self) -> None:
        model, end = self.model, self.task.end
        use = [model.new_bool_var("") for _ in self.shapes]
        active = model.new_bool_var("")
        model.add(sum(use) == active)
        start, stop = model.new_int_var(0, end, ""), model.new_int_var(0, end, "")
        low = sum(shape.length * one for shape, one in zip(self.shapes, use, strict=True))
        high = sum((shape.length + shape.stretch) * one for shape, one in zip(self.shapes, use, strict=True))
        model.add(stop - start >= low)
        model.add(stop - start <= high)
        for one, shape in zip(use, self.shapes, strict=True):
            if id(shape) in self.along:
                model.add(start == self.along[id(shape)]).only_enforce_if(one)
        least, most = (minutes // 5 for minutes in self.frame.awake_min)
        self.price(SoftRule.AWAKE_SHORT, self.over(least * active - (stop - start)))
        self.price(SoftRule.AWAKE_LONG, self.over(stop - start - most))
        for found, one in ((self.use, use), (self.active, active), (self.start, start), (self.end, stop)):
            found.append(one)

    def total(self, block: int, number):
        return sum(number(shape) * use for shape, use in zip(self.shapes, self.use[block], strict=True))

    def link(self) -> None:
        model, task = self.model, self.task
        model.add(self.start[0] == 0)
        model.add(self.active[0] == 1)
        for block in range(len(self.use)):
            goes_on = self.active[block + 1] if block + 1 < len(self.use) else 0
            is_last = model.new_bool_var("")
            model.add(is_last == self.active[block] - goes_on)
            model.add(self.end[block] == task.end).only_enforce_if(is_last)
            chews = self.total(block, lambda shape: shape.chew)
            model.add(chews == 0).only_enforce_if(is_last)
            if block + 1 < len(self.use):
                nap = self.start[block + 1] - self.end[block]
                longest = task.sizes.until_out_resting - task.sizes.outing
                model.add(nap >= SHORTEST_NAP).only_enforce_if(goes_on)
                model.add(nap <= longest - chews).only_enforce_if(goes_on)
                short, long = self.over(), self.over()
                model.add(short >= 12 - nap).only_enforce_if(goes_on)
                model.add(long >= nap - 24).only_enforce_if(goes_on)
                self.price(SoftRule.NAP_LENGTH, short + long)

    def keep_off(self) -> None:
        for block in range(len(self.use)):
            for one in self.task.busy:
                pairs = zip(self.shapes, self.use[block], strict=True)
                inside = [use for shape, use in pairs if one.number in shape.appointments]
                before, after = self.model.new_bool_var(""), self.model.new_bool_var("")
                self.model.add(self.end[block] <= one.start).only_enforce_if(before)
                self.model.add(self.start[block] >= one.end).only_enforce_if(after)
                self.model.add_bool_or([before, after, self.active[block].negated(), *inside])
        for one in (one for one in self.task.busy if one.comes_along):
            holds = [
                use
                for block in self.use
                for shape, use in zip(self.shapes, block, strict=True)
                if one.number in shape.appointments
            ]
            self.model.add(sum(holds) == 1)

    def place(self, kind: BlockKind, n: int, targets: tuple[int, ...], priced: tuple[SoftRule, int]) -> None:
        """Price how far the k-th thing of a kind, wherever it is, stands from its place."""
        rule, tolerance = priced
        before = 0
        for block in range(len(self.use)):
            for shape, use in zip(self.shapes, self.use[block], strict=True):
                for k in range(n):
                    for number, offset in enumerate(shape.places(kind)):
                        is_kth = self.model.new_bool_var("")
                        self.model.add(before + number == k).only_enforce_if(is_kth)
                        other = self.model.new_bool_var("")
                        self.model.add(before + number != k).only_enforce_if(other)
                        self.model.add_bool_or([is_kth, other, use.negated()])
                        off = self.over()
                        apart = self.start[block] + offset - targets[k]
                        self.model.add(off >= apart - tolerance).only_enforce_if([is_kth, use])
                        self.model.add(off >= -apart - tolerance).only_enforce_if([is_kth, use])
                        self.price(rule, off)
            before = before + self.total(block, lambda shape: shape.count(kind))
        if kind is BlockKind.MEAL:
            self.model.add(before == n)
        else:
            self.model.add(before <= n)
            self.price(SoftRule.SESSION_LEFT_OUT, n - before)

    def count(self) -> None:
        every = range(len(self.use))
        plays = sum(self.total(block, lambda shape: shape.count(BlockKind.PLAY)) for block in every)
        chews = sum(self.total(block, lambda shape: int(bool(shape.chew))) for block in every)
        self.model.add(plays <= self.task.n[BlockKind.PLAY])
        self.model.add(chews <= self.task.n[BlockKind.CHEW])
        self.price(SoftRule.PLAY_LEFT_OUT, self.task.n[BlockKind.PLAY] - plays)
        self.price(SoftRule.CHEW_BEFORE_NAP, self.task.n[BlockKind.CHEW] - chews)
        self.price(SoftRule.SESSION_AFTER_WAKING, sum(self.total(block, lambda shape: shape.early) for block in every))
        outings = sum(self.total(block, lambda shape: shape.n_outings) for block in every)
        self.price(SoftRule.FEWER_OUTINGS, outings - fewest_outings(self.frame))

    def optimum(self) -> float:
        self.model.minimize(self.cost)
        solver = cp_model.CpSolver()
        solver.parameters.num_workers = 2
        solver.parameters.random_seed = 1
        solver.parameters.max_time_in_seconds = 120
        assert solver.solve(self.model) == cp_model.OPTIMAL
        return solver.objective_value / 100


@pytest.mark.parametrize("frame", [SHORT, LONGER, BUSY], ids=["two hours", "six hours", "six hours, appointments"])
def test_best_plan_costs_what_the_constraint_solver_proves(frame):
    """No tolerance: costs are whole hundredths."""
    assert cost_of(plan_day(frame).broken) == Chain(frame, 4).optimum()
