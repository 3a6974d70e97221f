//! Reference tables of open standards, each row with its source.
