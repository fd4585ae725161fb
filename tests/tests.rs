//! Whole-program tests: the built binary, run as a person would run it.
