"""The same rules for CLIPS, encoded for it alone: one CLIPS fact for every part of every condition.

Nothing of the compiler under test is used: no part is merged, `not` stays where it is, and each part of a condition
passes its truth up by rules of its own.
"""

from __future__ import annotations

import itertools

import clips

from howdeep.logic.evaluate import is_number
from howdeep.model.condition import AllOf, AnyOf, FactTest, FindingTest, Not

_TEMPLATES = (
    "(deftemplate word (slot fact) (slot at) (slot is))",
    "(deftemplate number (slot fact) (slot at) (slot is))",
    "(deftemplate taken (slot fact) (slot of))",  # how many cylinders a reading has, where any was taken
    "(deftemplate single (slot part) (slot at) (slot truth))",  # a test of one value
    "(deftemplate truth (slot part) (slot is))",
)
_SIGN = {"below": "<", "above": ">", "at_least": ">=", "at_most": "<="}


class ClipsRules:
    """A rule base in CLIPS; `conclude` runs it on one case."""

    def __init__(self, conditions, limits):
        self.environment = clips.Environment()
        self.limits, self.parts, self.names = limits, 0, sorted(conditions)
        for template in _TEMPLATES:
            self.environment.build(template)
        for name in self.names:
            self.same(self.part(conditions[name]), f"finding-{name}")

    def rule(self, left, right, rank=0):
        self.parts += 1
        self.environment.build(f"(defrule x{self.parts} (declare (salience {rank})) {left} => (assert {right}))")

    def same(self, part, other):
        self.rule(f"(truth (part {part}) (is ?t))", f"(truth (part {other}) (is ?t))")

    def part(self, condition):
        if isinstance(condition, FindingTest):
            return f"finding-{condition.finding}"
        self.parts += 1
        me = f"p{self.parts}"
        if isinstance(condition, FactTest):
            self.fact_test(me, condition)
        elif isinstance(condition, Not):
            inner = self.part(condition.part)
            self.rule(f"(truth (part {inner}) (is present))", f"(truth (part {me}) (is absent))")
            self.rule(f"(truth (part {inner}) (is absent))", f"(truth (part {me}) (is present))")
        else:
            inner = [self.part(item) for item in condition.parts]
            both = ("present", "absent") if isinstance(condition, AllOf) else ("absent", "present")
            assert isinstance(condition, (AllOf, AnyOf))
            self.rule(
                " ".join(f"(truth (part {item}) (is {both[0]}))" for item in inner),
                f"(truth (part {me}) (is {both[0]}))",
            )
            for item in inner:
                self.rule(f"(truth (part {item}) (is {both[1]}))", f"(truth (part {me}) (is {both[1]}))")
        return me

    def fact_test(self, me, test):
        if test.one_of:
            seen = f"(word (fact {test.fact}) (at ?i) (is ?v))"
            holds = f"(or {' '.join(f'(eq ?v {word})' for word in test.one_of)} FALSE)"
        else:
            seen = f"(number (fact {test.fact}) (at ?i) (is ?v))"
            holds = (
                "(and "
                + " ".join(
                    f"({_SIGN[name]} ?v {float(self.limits.get(bound, bound))!r})" for name, bound in test.bounds
                )
                + " TRUE)"
            )
        place = "(test (= ?i 0))" if test.cylinders == "" else "(test (> ?i 0))"
        self.rule(f"{seen} {place} (test {holds})", f"(single (part {me}) (at ?i) (truth present))", 10)
        self.rule(f"{seen} {place} (test (not {holds}))", f"(single (part {me}) (at ?i) (truth absent))", 10)
        if test.cylinders == "":
            self.rule(f"(single (part {me}) (at 0) (truth ?t))", f"(truth (part {me}) (is ?t))")
            return
        if test.cylinders == "neighbours":
            left, right = (f"(single (part {me}) (at ?{at}) (truth present))" for at in "ij")
            self.rule(f"{left} {right} (test (= ?j (+ ?i 1)))", f"(truth (part {me}) (is present))")
            for cylinders in range(1, 5):
                clear = [f"(single (part {me}) (at {at}) (truth absent))" for at in range(1, cylinders + 1)]
                pairs = " ".join(f"(or {one} {next_one})" for one, next_one in itertools.pairwise(clear))
                self.rule(f"(taken (fact {test.fact}) (of {cylinders})) {pairs}", f"(truth (part {me}) (is absent))")
            return
        # counted once every single test has fired (they rank higher)
        least = {"any": "1", "every": "?n"}.get(test.cylinders, str(test.cylinders))
        count = "(length$ (find-all-facts ((?s single)) (and (eq ?s:part {}) (eq ?s:truth {}))))".format
        self.parts += 1
        self.environment.build(
            f"(defrule x{self.parts} (taken (fact {test.fact}) (of ?n)) => "
            f"(if (>= {count(me, 'present')} {least}) then (assert (truth (part {me}) (is present)))) "
            f"(if (< (- ?n {count(me, 'absent')}) {least}) then (assert (truth (part {me}) (is absent)))))"
        )

    def conclude(self, facts):
        """Finding -> 'present', 'absent' or 'unknown'."""
        self.environment.reset()
        for name, value in facts.items():
            several = isinstance(value, tuple)
            items = value if several else (value,)
            if several and any(item is not None for item in items):
                self.environment.assert_string(f"(taken (fact {name}) (of {len(items)}))")
            for place, item in enumerate(items, 1 if several else 0):
                if isinstance(item, str):
                    self.environment.assert_string(f"(word (fact {name}) (at {place}) (is {item}))")
                elif is_number(item):
                    figure = min(max(float(item), -1e300), 1e300)
                    self.environment.assert_string(f"(number (fact {name}) (at {place}) (is {figure!r}))")
        self.environment.run()
        result = dict.fromkeys(self.names, "unknown")
        for fact in self.environment.facts():
            if fact.template.name == "truth" and str(fact["part"]).startswith("finding-"):
                name = str(fact["part"]).removeprefix("finding-")
                assert result.get(name) in ("unknown", str(fact["is"])), "present and absent at once"
                result[name] = str(fact["is"])
        return result
