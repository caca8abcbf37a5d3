"""The literal loop of a made-up shop, and what each engine costs in the end.

What is done costs its price. What lies open and is past its limit is cured; where that needs a deeper job, the job
grows at the shop's charge, unless its owner would rather stop. After the work the engine is run: trouble that shows at
once is found on the bench, trouble that shows in use comes back and costs the comeback charge. Then the shop asks and
tests thoroughly at its own cost and decides again with what it knows by then. The measure is the loss: the cost less
that of an oracle who knows every fault.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

from .actions import Case, Check, Do, Look, Policy, Stated, Stop
from .running import AT_ONCE
from .signs import PAST_LIMIT, TALK, TESTS
from .works import EVERY_TIME, REPLACE, TOP_END, Works
from .world import World

ROUNDS = 6
"""Jobs after which a shop that has still not found it calls in the oracle, at that price and a comeback charge."""
CHECKS = 12
"""Checks made between two jobs at most."""
SHORT = 12.0
"""Minutes of the tests that a shop makes first after a failure."""
GROWS = 0.5
"""From this severity a fault that lies open makes the job grow."""


@dataclass(slots=True)
class Bill:
    """How one job went."""

    cost: float = 0.0
    work: float = 0.0
    """Of it, for work done."""
    wanted: float = 0.0
    """What only the cures of the faults cured would have cost, each job by itself."""
    checks: int = 0
    checks_cost: float = 0.0
    looks: int = 0
    jobs: int = 0
    comebacks: int = 0
    bench_failures: int = 0
    opened: int = 0
    """Deepest depth opened."""
    stopped: bool = False
    gave_up: bool = False
    stated: Stated = Stated()
    """What was claimed at the first job."""
    promised: int = -1
    """Depth of the first job; -1 where none was begun."""
    was_enough: bool = False
    """Whether all trouble goes once all that the first job is there to cure is cured."""


@dataclass(frozen=True, slots=True)
class Known:
    """What someone who knows every fault would do."""

    cost: float
    depth: int
    """How deep the engine must be opened; that of the cure also where stopping is cheaper."""
    stops: bool
    behind: frozenset[str]
    """The faults behind its trouble: the fewest and shallowest that must be cured."""


def run(world: World, policy: Policy) -> Bill:
    """One engine through the shop."""
    works, terms, bill = world.works, world.works.terms, Bill()
    names = list(world.asked)
    case = Case(works, world.answers(names), world.value_running, world.stopping_costs)
    cured: frozenset[str] = frozenset()
    credit = 0.0
    while bill.jobs < ROUNDS:
        action = policy.act(case)
        if isinstance(action, Check) and case.checks >= CHECKS:
            raise ValueError(f"{policy.name} checks without end")
        if isinstance(action, Check):
            cost = action.minutes / 60 * terms.rate + terms.risk.get(action.risk, 0.0)
            bill.cost, bill.checks, bill.checks_cost = bill.cost + cost, bill.checks + 1, bill.checks_cost + cost
            names += [name for name in action.observations if name not in names]
            case = replace(
                case,
                given={**world.answers(names, cured), **world.opened(max(case.depth, case.looked), cured)},
                checks=case.checks + 1,
                asked=case.asked | set(action.observations),
                named=action.then,
            )
            continue
        if isinstance(action, Look):
            if case.looked >= action.depth:
                raise ValueError(f"{policy.name} looks twice")
            fee = terms.look[action.depth]
            bill.cost, bill.looks, credit = bill.cost + fee - credit, bill.looks + 1, fee
            bill.opened = max(bill.opened, action.depth)
            case = replace(
                case,
                looked=action.depth,
                found=world.found(action.depth, cured),
                given={**case.given, **world.opened(action.depth, cured)},
            )
            continue
        if isinstance(action, Stop) or price_of(works, case, action) - credit > world.stopping_costs:
            bill.cost, bill.stopped = bill.cost + world.stopping_costs, True
            return bill
        if bill.promised < 0:
            bill.stated, bill.promised = action.stated, action.depth
            bill.was_enough = promise_held(world, case, action)
        job = job_of(world, cured, case, action)
        spent = job.price + (terms.reopening if case.depth >= TOP_END and job.depth >= TOP_END else 0.0)
        if job.depth >= case.looked:
            spent -= credit
        bill.cost, bill.work, credit = bill.cost + spent, bill.work + job.price, 0.0
        past = frozenset(name for name in job.cured if world.faults[name] >= PAST_LIMIT)
        bill.wanted += works.price(works.work(job.depth, past, whole=False))
        bill.jobs, bill.opened = bill.jobs + 1, max(bill.opened, job.depth)
        names += [name for name in (*TALK, *_thorough(works, bill.jobs)) if name not in names]
        cured |= job.cured
        left = world.troubles(cured)
        if not left:
            return bill
        if left & AT_ONCE:
            bill.bench_failures += 1
        else:
            bill.comebacks += 1
            bill.cost += terms.comeback
        depth = max(case.depth, job.depth)
        given = world.answers(names, cured)
        tested = sum(
            works.knowledge.observations[name].minutes for name in given if name in TESTS and name not in case.given
        )
        bill.cost += tested / 60 * terms.rate
        case = Case(
            works,
            {**given, **world.opened(depth, cured)},
            world.value_running,
            world.stopping_costs,
            world.found(depth, cured),
            case.done | job.done,
            works.cured(case.done | job.done, works.need),
            depth,
            depth,
            asked=case.asked,
        )
    bill.gave_up = True
    bill.comebacks += 1
    bill.cost += terms.comeback + oracle(world, cured).cost
    return bill


def _thorough(works: Works, failures: int) -> tuple[str, ...]:
    """Tests that a shop makes at its own cost once it has failed: first the short ones, after that all."""
    least = SHORT if failures < 2 else 1000.0
    return tuple(
        name
        for name in TESTS
        if name in works.knowledge.observations and works.knowledge.observations[name].minutes <= least
    )


@dataclass(frozen=True, slots=True)
class Job:
    """One job as it went."""

    done: frozenset[str]
    price: float
    depth: int
    cured: frozenset[str]
    """Faults that were there and are gone."""


def price_of(works: Works, case: Case, action: Do) -> float:
    """What is asked for the job as advised."""
    return works.price(_fresh(_wanted(works, case, action, action.depth), case.done))


def _wanted(works: Works, case: Case, action: Do, depth: int, found: frozenset[str] = frozenset()) -> frozenset[str]:
    """The work of a job that goes to this depth with what was found."""
    aimed = action.aimed | case.found | found
    if not action.operations:
        return works.work(depth, aimed, whole=action.whole)
    grown = works.work(depth, aimed, whole=True) if action.whole and depth > action.depth else frozenset()
    return works.with_cures(action.operations | grown, case.found | found, depth)


def promise_held(world: World, case: Case, action: Do) -> bool:
    """Whether all trouble goes once everything is cured that the job is there to cure: a whole list all that its depth
    can cure, else what its work cures."""
    if action.whole:
        return not world.troubles(name for name in world.faults if world.works.need[name] <= action.depth)
    return not world.troubles(world.works.cured(_wanted(world.works, case, action, action.depth), world.faults))


def job_of(world: World, cured: frozenset[str], case: Case, action: Do) -> Job:
    """Do the work: what is found open is cured, and the job grows where that needs more depth."""
    works, terms = world.works, world.works.terms
    depth = action.depth
    done = _fresh(_wanted(works, case, action, depth), case.done)
    price = works.price(done)
    declined: frozenset[str] = frozenset()
    while depth < REPLACE:
        found = world.found(depth, cured)
        over = frozenset(name for name in found - declined if world.faults[name] >= GROWS)
        target = max((works.need[name] for name in over), default=depth)
        target = max(target, depth)
        more = _fresh(_wanted(works, case, action, target, found), case.done) | done
        if target == depth:
            price += max(0.0, works.price(more) - works.price(done))
            done = more
            break
        dearer = terms.growth_charge + terms.growth_factor * max(0.0, works.price(more) - works.price(done))
        if dearer > world.stopping_costs:
            declined |= frozenset(name for name in over if works.need[name] > depth)
            continue
        price, depth, done = price + dearer, target, more
    gone = works.cured(done, (name for name in world.faults if name not in cured))
    return Job(done, round(price, 2), depth, gone)


def _fresh(wanted: frozenset[str], before: frozenset[str]) -> frozenset[str]:
    """What is left to do of it after earlier jobs."""
    left = frozenset(name for name in wanted if name not in before or name in EVERY_TIME)
    return left if left - frozenset(EVERY_TIME) else wanted & frozenset(("start_and_prove",))


def oracle(world: World, cured: frozenset[str] = frozenset()) -> Known:
    """The cheapest end for someone who knows every fault: a job that grows without surprise, or to stop."""
    behind = faults_behind(world, cured)
    if not behind:
        return Known(0.0, 0, False, behind)
    works = world.works
    least = max(works.need[name] for name in behind)
    best, deep = world.stopping_costs, least
    for depth in range(least, REPLACE + 1):
        for whole in (False, True):
            level, aimed = depth, behind
            while level < REPLACE:
                found = world.found(level, cured)
                aimed = behind | found
                target = max((works.need[name] for name in found if world.faults[name] >= GROWS), default=level)
                if target <= level:
                    break
                level = target
            done = works.work(level, aimed, whole=whole)
            cost = works.price(done)
            if cost < best and not world.troubles(cured | works.cured(done, world.faults)):
                best, deep = cost, level
    return Known(best, deep, best == world.stopping_costs, behind)


def faults_behind(world: World, cured: frozenset[str] = frozenset()) -> frozenset[str]:
    """The fewest faults that must be cured for the trouble to go, the shallow ones kept for curing first."""
    needed = [name for name in world.faults if name not in cured]
    if not world.troubles(cured):
        return frozenset()
    for name in sorted(needed, key=lambda item: (-world.works.need[item], world.faults[item], item)):
        rest = [other for other in needed if other != name]
        if not world.troubles(cured | frozenset(rest)):
            needed = rest
    return frozenset(needed)


def enough_of(world: World) -> tuple[bool, ...]:
    """Per depth 0 to 5, whether curing all that it can cure makes the trouble go."""
    return tuple(
        not world.troubles(name for name in world.faults if world.works.need[name] <= depth)
        for depth in range(REPLACE + 1)
    )
