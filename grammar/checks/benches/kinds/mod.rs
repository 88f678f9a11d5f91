//! What an author may write in number, one kind at a time: texts that hold it
//! `n` times, and little else.

use std::fmt::Write as _;

const REFERENCE: &str = include_str!("../../src/tarnwick.gtt");

/// A kind, by name, and the text that holds it `n` times.
pub(crate) type Kind = (&'static str, fn(usize) -> String);

/// All kinds.
pub(crate) const KINDS: [Kind; 24] = [
    ("phases", phases),
    ("phases out of bounds", phases_out_of_bounds),
    ("one phase of them out of bounds", one_out_of_bounds),
    ("runs", runs),
    ("boluses", boluses),
    ("flushes", flushes),
    ("repeats", repeats),
    ("phases that repeat", phases_that_repeat),
    ("adjust steps", steps),
    ("limits by weight", limits_by_weight),
    ("limits by area", limits_by_area),
    ("limits that are broken", limits_broken),
    ("areas of one condition", areas),
    ("contents", contents),
    ("expects", expects),
    ("waivers", waivers),
    ("members of a set", members),
    ("lines of a set", lines),
    ("drugs with near names", near_names),
    ("names that are not known", unknown),
    ("incomplete orders in one file", incomplete),
    ("orders", orders),
    ("letters of a name", long_name),
    ("letters of a note", long_note),
];

/// What grows faster than its number, since each sum takes up the functions of
/// all before it, or since the square is what is asked for: bounded by the
/// budget alone.
pub(crate) const STEEP: [Kind; 3] = [
    ("phases whose bags go by weight", by_weight),
    ("repeats between phases by weight", shifted),
    ("limits times runs", limits_and_runs),
];

/// The text's file, and those that it uses.
pub(crate) fn files(text: String) -> Vec<(&'static str, String)> {
    vec![
        ("page.gtt", format!("use \"tarnwick.gtt\"\n\n{text}")),
        ("tarnwick.gtt", REFERENCE.to_owned()),
    ]
}

const HEAD: &str = "order many \"Many\"\n  drug noradrenaline\n  area adult-icu\n  patient weight 40 to 150 kg\n  route central vein\n";

/// A line, or several, once for each number below `n`.
fn each(n: usize, line: impl Fn(usize) -> String) -> String {
    (0..n).map(line).collect()
}

fn phase(number: usize, rate: &str) -> String {
    format!(
        "  phase p-{number}\n    mix 4 mg made up to 50 mL with glucose-5\n    run 10 mL at {rate}\n"
    )
}

fn phases(n: usize) -> String {
    let phases = each(n, |number| phase(number, "0.06 mcg/kg/min"));
    format!("{HEAD}{phases}  then stop\n")
}

fn phases_out_of_bounds(n: usize) -> String {
    let phases = each(n, |number| phase(number, "6 mcg/kg/min"));
    format!("{HEAD}{phases}  then stop\n")
}

fn one_out_of_bounds(n: usize) -> String {
    let phases = each(n, |number| phase(number, "0.06 mcg/kg/min"));
    let one = phase(n, "6 mcg/kg/min");
    format!("{HEAD}{phases}{one}  then stop\n")
}

/// Times and strengths that follow from a sum with the weight in it each: what
/// is added up over the phases grows with every one.
fn by_weight(n: usize) -> String {
    let phases = each(n, |number| {
        format!(
            "  phase p-{number}\n    mix {}00 mcg/kg added to {} mL of glucose-5\n    run all at {} mL/h\n",
            number + 1,
            50 + 7 * number,
            11 + number
        )
    });
    format!("{HEAD}{phases}  then stop\n")
}

/// Repeats between phases whose time goes by weight.
fn shifted(n: usize) -> String {
    let phases = each(n, |number| {
        format!(
            "  phase p-{number}\n    mix 4 mg made up to 5{number} mL with glucose-5\n    run 10 mL at 0.1 mcg/kg/min\n  phase q-{number}\n    mix 4 mg made up to 50 mL with glucose-5\n    run 0.1 mL over 20 s every 1 min for 300 doses\n"
        )
    });
    format!("{HEAD}{phases}  then stop\n")
}

const BAG: &str = "  mix 40 mg made up to 5 L with glucose-5\n";

fn runs(n: usize) -> String {
    let runs = each(n, |_| "  run 1 mL at 0.06 mcg/kg/min\n".to_owned());
    format!("{HEAD}{BAG}{runs}  then stop\n")
}

fn boluses(n: usize) -> String {
    let boluses = each(n, |_| "  bolus 1 mL over 5 min\n".to_owned());
    format!("{HEAD}{BAG}{boluses}  run 1 mL at 0.06 mcg/kg/min\n  then stop\n")
}

fn flushes(n: usize) -> String {
    let flushes = each(n, |_| "  flush 1 mL with saline\n".to_owned());
    format!("{HEAD}{BAG}  run 1 mL at 0.06 mcg/kg/min\n{flushes}  then stop\n")
}

fn repeats(n: usize) -> String {
    format!(
        "{HEAD}{BAG}  run 0.1 mL over 30 s every 1 min for {} doses\n",
        n * 8
    )
}

fn phases_that_repeat(n: usize) -> String {
    let phases = each(n, |number| {
        format!(
            "  phase p-{number}\n    mix 4 mg made up to 50 mL with glucose-5\n    run 1 mL over 1 min every 5 min for 9 doses\n"
        )
    });
    format!("{HEAD}{phases}  then stop\n")
}

fn steps(n: usize) -> String {
    let steps: Vec<_> = (1..=n).map(|step| format!("0.{:04}", 600 + step)).collect();
    format!(
        "{HEAD}{BAG}  run all at 0.0601 mcg/kg/min\n  adjust {} mcg/kg/min every 5 min\n  then renew\n",
        steps.join(", ")
    )
}

fn limited(limits: &str, rate: &str) -> String {
    format!(
        "drug limitamine \"Limitamine\"\n  supplied 4 mg in 4 mL\n  with glucose-5\n{limits}\norder many \"Many\"\n  drug limitamine\n  area adult-icu\n  patient weight 40 to 150 kg\n  route central vein\n{BAG}  run all at {rate}\n  then renew\n"
    )
}

/// As many limits as runs, each of which judges each: the square is what is
/// asked for.
pub(crate) fn limits_and_runs(n: usize) -> String {
    let limits = each(n, |_| "  never dose above 2 mcg/kg/min\n".to_owned());
    let runs = each(n, |_| "  run 1 mL at 0.06 mcg/kg/min\n".to_owned());
    limited(&limits, "0.06 mcg/kg/min").replace("  run all", &format!("{runs}  run all"))
}

fn limits_by_weight(n: usize) -> String {
    let limits = each(n, |band| {
        format!(
            "  usual dose 0.01 to 1 mcg/kg/min for {}.{:03} to {}.{:03} kg\n",
            band / 10 + 1,
            band % 10 * 100,
            (band + 1) / 10 + 1,
            (band + 1) % 10 * 100
        )
    });
    limited(&limits, "0.06 mcg/kg/min")
}

fn limits_by_area(n: usize) -> String {
    let areas = each(n, |area| format!("area a-{area} \"A\"\n"));
    let limits = each(n, |area| {
        format!("  usual dose 0.01 to 1 mcg/kg/min in a-{area}\n")
    });
    format!("{areas}\n{}", limited(&limits, "0.06 mcg/kg/min"))
}

fn limits_broken(n: usize) -> String {
    let limits = each(n, |limit| {
        format!("  never dose above 1.{:04} mcg/kg/min\n", limit + 1)
    });
    limited(&limits, "6 mcg/kg/min")
}

fn areas(n: usize) -> String {
    let areas = each(n, |area| format!("area a-{area} \"A\"\n"));
    let named: Vec<_> = (0..n).map(|area| format!("a-{area}")).collect();
    let limit = format!("  never dose above 1 mcg/kg/min in {}\n", named.join(", "));
    format!("{areas}\n{}", limited(&limit, "0.06 mcg/kg/min"))
}

fn contents(n: usize) -> String {
    let contents = each(n, |number| {
        format!("  contains substance-{number} 1 mg/mL\n")
    });
    format!(
        "solution broth \"Broth\"\n{contents}\norder many \"Many\"\n  area adult-icu\n  route central vein\n  hang 1 L of broth\n  run all at 80 mL/h\n  then stop\n"
    )
}

fn expects(n: usize) -> String {
    let expects = each(n, |weight| {
        format!(
            "  expect flow {} mL/h at {} kg\n",
            weight + 1,
            weight % 100 + 40
        )
    });
    format!("{HEAD}{BAG}  run all at 0.06 mcg/kg/min\n  then renew\n{expects}")
}

fn waivers(n: usize) -> String {
    let waivers = each(n, |_| {
        "  waive flow.no-pump because \"so it is\"\n".to_owned()
    });
    format!("{HEAD}{BAG}  run all at 0.06 mcg/kg/min\n  then renew\n{waivers}")
}

fn order(number: usize) -> String {
    format!(
        "order order-{number} \"Order\"\n  area adult-icu\n  patient weight 40 to 150 kg\n  route central vein\n  hang 1 L of saline\n  run all at 80 mL/h\n  then stop\n\n"
    )
}

fn orders(n: usize) -> String {
    each(n, order)
}

fn names_of_orders(n: usize) -> String {
    let names: Vec<_> = (0..n).map(|number| format!("order-{number}")).collect();
    names.join(", ")
}

const SET: &str = "set many \"Many\"\n  area adult-icu\n  patient weight 40 to 150 kg\n";

fn members(n: usize) -> String {
    format!("{}{SET}  include {}\n", orders(n), names_of_orders(n))
}

fn lines(n: usize) -> String {
    let lines = each(n, |line| format!("  line l-{line}: order-{line}\n"));
    format!(
        "{}{SET}  include {}\n{lines}",
        orders(n),
        names_of_orders(n)
    )
}

fn near_names(n: usize) -> String {
    each(n, |number| {
        let mut name = String::new();
        // Letters far apart, and each name twice with one letter more.
        let mut rest = (number / 2).wrapping_mul(0x9E37_79B1) % 0xFFFF_FFFF;
        for _ in 0..7 {
            name.push(char::from(b'a' + u8::try_from(rest % 26).unwrap_or(0)));
            rest /= 26;
        }
        let more = if number % 2 == 0 { "" } else { "n" };
        let mut text = String::new();
        let _ = write!(
            text,
            "drug {name}ine{more} \"D\"\n  supplied 4 mg in 4 mL\n\n"
        );
        text
    })
}

fn unknown(n: usize) -> String {
    each(n, |number| {
        order(number).replace("  hang", &format!("  drug unknown-{number}\n  hang"))
    })
}

fn incomplete(n: usize) -> String {
    each(n, |number| order(number).replace("80 mL/h", "80 ml per"))
}

fn long_name(n: usize) -> String {
    order(0).replace("order-0", &"n".repeat(n * 8))
}

fn long_note(n: usize) -> String {
    let note = "word ".repeat(n * 8);
    format!(
        "{}  note \"{note}\"\n",
        order(0).trim_end().to_owned() + "\n"
    )
}
