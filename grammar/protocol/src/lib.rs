//! Names resolved across files, and all that is derived from an order.
