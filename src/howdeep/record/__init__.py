"""The shop's own record: what was really found, how good the advice was, and what it teaches."""
