//! Greatest common divisors, where most of an exact sum's time goes.

/// Of two numbers that are not both zero; of zero and another, the other.
pub(super) fn of_u64(mut a: u64, mut b: u64) -> u64 {
    if a == 1 || b == 1 {
        return 1;
    }
    if a == 0 || b == 0 {
        return a | b;
    }
    // One division brings two of unlike sizes together, and is often all;
    // then Stein's: subtract and shift. Neither is zero in the loop.
    let rest = a % b;
    if rest < 2 {
        return if rest == 0 { b } else { 1 };
    }
    let twos = (rest | b).trailing_zeros();
    a = rest >> rest.trailing_zeros();
    b >>= b.trailing_zeros();
    while a != b {
        let difference = a.abs_diff(b);
        b = a.min(b);
        a = difference >> difference.trailing_zeros();
    }
    a << twos
}

/// As [`of_u64`], of their sizes.
pub(super) fn of_i64(a: i64, b: i64) -> u64 {
    of_u64(a.unsigned_abs(), b.unsigned_abs())
}
