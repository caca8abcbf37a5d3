"""From odds and prices to a depth: expected cost of every rung, the next check, and what would move the choice."""
