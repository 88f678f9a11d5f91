//! What a house's settings state.

use gutta_checks::rule;
use gutta_protocol::House;
use gutta_protocol::house::SeveritySetting;
use gutta_quantity::{Atom, Exact, Unit, units};

use super::statement::{Bearing, Statement, StatementValue};

/// What `gutta.toml` sets, its defaults filled in.
pub(super) fn statements(house: &House) -> Vec<Statement> {
    let House {
        // How numbers are written changes none.
        style: _,
        pump,
        area,
        giving_set,
        rounding_tolerance,
        counted_as_tolerance,
        reference_tolerance,
        peripheral_osmolarity,
        left_over,
        drops_low,
        drops_high,
        line_delay,
        left_in_line,
        marked_change,
        syringe_marks,
        hang_time,
        severity,
        exclude,
        positions: _,
    } = house;
    let mut all = Vec::new();
    let defaults = [
        ("default pump", pump),
        ("default area", area),
        ("default giving set", giving_set),
    ];
    for (what, name) in defaults {
        let name = name.as_ref();
        all.extend(name.map(|name| Statement::words(what, name.as_str(), Bearing::ACTS)));
    }
    let mut number = |what: &str, base: &Exact, unit: Unit, bearing| {
        all.push(Statement::new(
            what,
            StatementValue::Number(base.clone(), unit),
            bearing,
        ));
    };
    let shares = [
        ("rounding tolerance", rounding_tolerance),
        ("counted-as tolerance", counted_as_tolerance),
        ("reference tolerance", reference_tolerance),
        ("left over", left_over),
        ("left in line", left_in_line),
        ("marked change", marked_change),
    ];
    for (what, share) in shares {
        let percent = share * &Exact::int(100);
        let base = gutta_quantity::Quantity::new(percent, units::PERCENT).base();
        number(what, &base, units::PERCENT, Bearing::MOST);
    }
    let osmolarity = Unit::over(Atom::MOsm, Atom::L);
    let base = gutta_quantity::Quantity::new(peripheral_osmolarity.clone(), osmolarity).base();
    number("peripheral osmolarity", &base, osmolarity, Bearing::MOST);
    number(
        "countable drops from",
        drops_low,
        units::DROPS_PER_MIN,
        Bearing::LEAST,
    );
    number(
        "countable drops up to",
        drops_high,
        units::DROPS_PER_MIN,
        Bearing::MOST,
    );
    number("line delay", line_delay, units::H, Bearing::MOST);
    if let Some(time) = hang_time {
        number("hang time", time, units::H, Bearing::MOST);
    }
    let marks = syringe_marks.iter().flat_map(|(size, mark)| [size, mark]);
    let marks = marks.map(|volume| (volume.clone(), units::ML)).collect();
    all.push(Statement::new(
        "syringe marks",
        StatementValue::Numbers(marks),
        Bearing::ACTS,
    ));
    all.extend(severity.iter().filter_map(of_severity));
    for pattern in exclude {
        let what = format!("excludes {pattern}");
        all.push(Statement::new(what, StatementValue::So, Bearing::ALLOWS));
    }
    all
}

/// A severity other than the rule's usual one: a lower one is a permission.
fn of_severity(setting: &SeveritySetting) -> Option<Statement> {
    let usual = rule(&setting.rule)?.severity;
    let set = setting.severity;
    let bearing = if set < usual {
        Bearing::ALLOWS
    } else {
        Bearing::GUARDS
    };
    (set != usual).then(|| {
        let what = format!("severity of {}", setting.rule);
        Statement::words(what, set.word(), bearing)
    })
}
