//! Exact numbers, units and kinds of quantity.
