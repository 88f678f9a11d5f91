//! What the lines mean, exactly: each sentence of the notation's reference has
//! its test, on small orders.

mod support;
mod meaning {
    mod balance;
    mod deliveries;
    mod flow;
    mod plot;
    mod properties;
    mod pump;
    mod repeats;
    mod settings;
    mod totals;
    mod working;
}
