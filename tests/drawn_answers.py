"""Answers and readings that the property tests draw for any question."""

from hypothesis import strategies as st

from howdeep.knowledge.engine_facts import count_of


def drawn_answer(data, item, sheet):
    """A plain value for an observation as a job writes it: one, the same for all, or some places of the engine."""

    def one():
        if item.kind == "choice":
            return data.draw(st.sampled_from([*item.answers, "unknown"]))
        low, high = item.range or (0.0, 100.0)
        return f"{data.draw(st.floats(low, high).map(lambda x: round(x, 4))):.4f} {item.unit}".strip()

    def place():
        return {row: [one() for _ in item.columns or ("",)] for row in item.rows} if item.rows else one()

    if not item.each:
        return place()
    if data.draw(st.booleans(), label="all alike"):
        return {"all": place()}
    return {index: place() for index in data.draw(st.sets(st.integers(1, count_of(sheet, item.each)), min_size=1))}
