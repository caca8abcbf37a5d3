"""The interview: which question next, what an answer does, what is still open. It knows no screen."""
