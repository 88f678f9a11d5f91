//! What a comparison costs, by counted work.

use gutta_quantity::work;

use super::{BASE, assert_told, compared, told, with};

/// The work of comparing two states, on one thread.
fn work_of(before: &str, after: &str) -> u64 {
    let pool = rayon::ThreadPoolBuilder::new().num_threads(1).build();
    let count = || work::counted(|| compared(before, after)).1;
    pool.unwrap().install(count)
}

/// Copies of the order `steady`, under other names, below the base.
fn many(base: &str, n: usize) -> String {
    let from = base.find("order steady").unwrap();
    let order = &base[from..base.find("order two").unwrap()];
    let copy = |number| order.replace("order steady", &format!("order steady-{number}"));
    format!("{base}\n{}", (0..n).map(copy).collect::<String>())
}

/// The work that one more order of it adds.
fn an_order(before: &str, after: &str) -> u64 {
    let of = |n| work_of(&many(before, n), &many(after, n));
    (of(12) - of(2)) / 10
}

const STEP: (&str, &str) = (
    "99.9 mL/h in steps of 0.1 mL/h",
    "99.9 mL/h in steps of 0.2 mL/h",
);

#[test]
fn an_order_that_is_unchanged_is_derived_once() {
    // Its own lines are the same, and all that it leans on, elsewhere in the
    // file by now.
    let aside = with("\npump syringe", "\narea other \"Other\"\n\npump syringe");
    let (same, moved) = (an_order(BASE, BASE), an_order(BASE, &aside));
    let remarked = an_order(BASE, &with("pump syringe", "# a word\npump syringe"));
    let step = an_order(BASE, &with(STEP.0, STEP.1));
    assert!(same < 60, "{same}");
    assert_eq!(same, moved);
    assert!(remarked < 400, "{remarked}");
    assert!(step > 5 * same, "{step} beside {same}");
}

#[test]
fn flows_of_a_pump_are_looked_at_once_for_all_that_goes_by_them() {
    let step = an_order(BASE, &with(STEP.0, STEP.1));
    assert!(step < 1500, "{step}");
}

/// Nothing of an order is passed over because its own text is the same.
#[test]
fn what_an_order_leans_on_is_compared_for_it_too() {
    let told = told(&compared(BASE, &with(STEP.0, STEP.1)));
    assert!(
        told.contains("steady") && told.contains("pump flow"),
        "{told}"
    );
    assert_told(BASE, BASE, "");
}
