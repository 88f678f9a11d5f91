//! A drug's limits as statements, each bound on its own.

use gutta_checks::telling::{range_of_ages, range_of_patients};
use gutta_checks::words::any_of;
use gutta_notation::ast::Route;
use gutta_protocol::model::limit::{LimitBound, Prohibited, Prohibition, Side, TotalOver, When};
use gutta_protocol::model::size::Extent;
use gutta_quantity::{Exact, Printed, Quantity, Style, units};
use smol_str::SmolStr;

use super::statement::{Bearing, Statement, StatementValue};

/// One bound.
pub(super) fn of_bound(limit: &LimitBound, style: Style) -> Statement {
    let LimitBound {
        measure,
        usual,
        side,
        bound,
        // The unit's dimension says it.
        form: _,
        unit,
        over,
        when,
        except,
        span: _,
        bound_span: _,
    } = limit;
    let mut what = match (usual, side) {
        (true, Side::Low) => format!("usual {} from", measure.phrase()),
        (true, Side::High) => format!("usual {} up to", measure.phrase()),
        (false, Side::Low) => format!("never {} below", measure.phrase()),
        (false, Side::High) => format!("never {} above", measure.phrase()),
    };
    if let TotalOver::Any(window) = over {
        let day = *window == units::DAYS.factor();
        what.push_str(&if day {
            ", per day".to_owned()
        } else {
            format!(", in any {}", time(window, style))
        });
    }
    conditions(&mut what, (when, except), style);
    let bearing = match side {
        Side::Low => Bearing::LEAST,
        Side::High => Bearing::MOST,
    };
    Statement::new(what, StatementValue::Number(bound.clone(), *unit), bearing)
}

/// What is forbidden outright.
pub(super) fn of_prohibition(prohibition: &Prohibition, style: Style) -> Statement {
    let Prohibition {
        what,
        when,
        except,
        span: _,
    } = prohibition;
    let (mut what, said) = match what {
        Prohibited::Routes(routes) => {
            let routes = routes.iter().map(|route| route.phrase().to_owned());
            ("never by".to_owned(), StatementValue::Set(routes.collect()))
        }
        Prohibited::Areas(areas) => {
            let areas = areas.iter().map(ToString::to_string);
            ("never in".to_owned(), StatementValue::Set(areas.collect()))
        }
        Prohibited::Undiluted => ("never undiluted".to_owned(), StatementValue::So),
    };
    conditions(&mut what, (when, except), style);
    Statement::new(what, said, Bearing::LEAST)
}

fn conditions(what: &mut String, (when, except): (&When, &[When]), style: Style) {
    for condition in of_when(when, style) {
        what.push_str(", ");
        what.push_str(&condition);
    }
    if except.is_empty() {
        return;
    }
    let told = except.iter().map(|when| of_when(when, style).join(" "));
    let mut all: Vec<_> = told.collect();
    all.sort();
    what.push_str(", except ");
    what.push_str(&any_of(&all));
}

fn of_when(when: &When, style: Style) -> Vec<String> {
    let When {
        routes,
        areas,
        weights,
        surfaces,
        ages,
        purposes,
        after_first,
    } = when;
    let mut all = Vec::new();
    let mut listed = |word: &str, names: Vec<String>| {
        let mut names = names;
        names.sort();
        if !names.is_empty() {
            all.push(format!("{word} {}", any_of(&names)));
        }
    };
    listed("by", routes.iter().copied().map(route).collect());
    listed("in", areas.iter().map(SmolStr::to_string).collect());
    listed("as", purposes.iter().map(SmolStr::to_string).collect());
    let bands = [(weights, units::KG), (surfaces, units::M2)];
    for (extent, unit) in bands {
        all.extend(extent.as_ref().map(|extent| {
            format!(
                "for {}",
                range(extent, range_of_patients(extent, unit, style))
            )
        }));
    }
    all.extend(
        ages.as_ref()
            .map(|ages| format!("aged {}", range(ages, range_of_ages(ages, style)))),
    );
    let after = after_first.as_ref();
    all.extend(after.map(|first| format!("after the first {}", time(first, style))));
    all
}

fn route(route: Route) -> String {
    route.phrase().to_owned()
}

fn range(extent: &Extent, told: String) -> String {
    match (&extent.low, &extent.high, extent.high_excluded) {
        (Some(_), Some(_), true) => format!("{told} (without the upper end)"),
        _ => told,
    }
}

fn time(base: &Exact, style: Style) -> Printed {
    style.quantity_shown(&Quantity::from_base(base.clone(), units::H))
}
