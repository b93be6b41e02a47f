"""Which named rules clash: the smallest set of them that leaves something no day. Imports the solver's library."""

from collections.abc import Collection, Mapping

from ortools.sat.python import cp_model

from pupilage.core.planning.programme.rules import Rule


def find_core(shut: Mapping[Rule, Collection[int]], *, n_days: int, n_needed: int = 1) -> tuple[Rule, ...]:
    """Return a smallest set of rules that together leave fewer than n_needed of the days, or () where enough are left.

    Model: each rule is assumed by a literal that shuts its days; the solver names assumptions that cannot hold
    together, and those that are not needed for the clash are taken out one by one, so that none can be spared.
    Parameters: shut, the days (0 to n_days − 1) that each rule shuts.
    """
    core = _named_by_solver(shut, n_days, n_needed)
    if core is None:
        return ()
    for rule in list(core):
        fewer = {one: shut[one] for one in core if one is not rule}
        if _named_by_solver(fewer, n_days, n_needed) is not None:
            core = [one for one in core if one is not rule]
    return tuple(rule for rule in shut if rule in core)


def _named_by_solver(shut: Mapping[Rule, Collection[int]], n_days: int, n_needed: int) -> list[Rule] | None:
    """Return the rules that the solver names as clashing, None where the days suffice."""
    model, assumed = cp_model.CpModel(), {}
    days = [model.new_bool_var("") for _ in range(n_days)]
    model.add(sum(days) >= n_needed)
    for rule, closed in shut.items():
        literal = model.new_bool_var(rule.value)
        assumed[literal.index] = rule
        for day in closed:
            model.add_implication(literal, ~days[day])
        model.add_assumption(literal)
    solver = cp_model.CpSolver()
    solver.parameters.num_workers = 1
    if solver.solve(model) != cp_model.INFEASIBLE:
        return None
    named = [assumed[index] for index in solver.sufficient_assumptions_for_infeasibility()]
    return named or list(shut)
