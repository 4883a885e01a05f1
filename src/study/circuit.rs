//! Exact dc solution of one run by nodal analysis.
