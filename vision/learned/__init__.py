"""A learned cue for what is a member of the wall; see ``model``."""
