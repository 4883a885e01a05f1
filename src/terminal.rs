//! The terminal floor: what the program needs of a terminal, knowing nothing of jobs.
