//! The balance: its search and its proposals.
