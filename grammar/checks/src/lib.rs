//! The rules, one file each, with their pages.
