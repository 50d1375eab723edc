"""The wind of a note as commands ask of it: which stops are drawn, and what feeds its box."""
