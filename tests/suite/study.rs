//! The study of whole jobs.
