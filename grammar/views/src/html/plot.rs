//! The flow with its limits, as a drawing (SVG 1.1) for a printer without
//! colours: lines are told apart by their dashes and by a letter.

use gutta_quantity::{Exact, machine};
use maud::{Markup, html};

use crate::overview::{Drawing, DrawnAxis, DrawnLine, LineKind, Point};

const WIDTH: i64 = 640;
const HEIGHT: i64 = 236;
const LEFT: i64 = 56;
const RIGHT: i64 = 606;
const TOP: i64 = 12;
const BOTTOM: i64 = 192;
/// Between two letters beside the drawing.
const APART: i64 = 13;

/// One drawing with the key to its lines; `id` is the page's own for it.
pub(super) fn figure(drawing: &Drawing, id: &str) -> Markup {
    let Frame { across, up } = Frame::of(drawing);
    let letters = letters(drawing, &up);
    html! {
        figure {
            svg viewBox={ "0 0 " (WIDTH) " " (HEIGHT) } role="img"
                aria-labelledby={ (id) "-title" } aria-describedby={ (id) "-said" } {
                title id={ (id) "-title" } {
                    "Flow by " (drawing.across.word) " of " (drawing.run)
                }
                defs {
                    clipPath id={ (id) "-inside" } {
                        rect x=(LEFT) y=(TOP) width=(RIGHT - LEFT) height=(BOTTOM - TOP) {}
                    }
                }
                @for tick in &drawing.up.marks {
                    @if let Some(y) = up.place(&tick.at) {
                        line.grid x1=(LEFT) x2=(RIGHT) y1=(y) y2=(y) {}
                        text.up x=(LEFT - 6) y=(y) { (tick.text) }
                    }
                }
                @for tick in &drawing.across.marks {
                    @if let Some(x) = across.place(&tick.at) {
                        line.tick x1=(x) x2=(x) y1=(BOTTOM) y2=(BOTTOM + 4) {}
                        text.across x=(x) y=(BOTTOM + 16) { (tick.text) }
                    }
                }
                text.across x=((LEFT + RIGHT) / 2) y=(BOTTOM + 34) {
                    (drawing.across.word) ", " (drawing.across.unit)
                }
                text.name x="10" y=((TOP + BOTTOM) / 2)
                    transform={ "rotate(-90 10 " ((TOP + BOTTOM) / 2) ")" } {
                    (drawing.up.word) ", " (drawing.up.unit)
                }
                g clip-path={ "url(#" (id) "-inside)" } {
                    @for line in drawing.lines.iter().rev() {
                        @for stroke in &line.strokes {
                            polyline class=(class(line.kind)) points=(points(stroke, &across, &up)) {}
                        }
                    }
                }
                rect.frame x=(LEFT) y=(TOP) width=(RIGHT - LEFT) height=(BOTTOM - TOP) {}
                @for letter in &letters {
                    text.letter x=(RIGHT + 8) y=(letter.y) { (letter.name) }
                }
            }
            figcaption {
                @if let Some(with) = &drawing.with { p { "At " (with) "." } }
                ul.key {
                    @for (index, line) in drawing.lines.iter().enumerate() { (key(line, index)) }
                    @for undrawn in &drawing.undrawn {
                        li { "Also applies, but could not be drawn: " (undrawn) "." }
                    }
                }
                p.unseen id={ (id) "-said" } { (drawing.summary.join(" ")) }
            }
        }
    }
}

fn key(line: &DrawnLine, index: usize) -> Markup {
    html! {
        li {
            @if line.shown { span.letter { (name(index)) } " " }
            svg.swatch viewBox="0 0 36 10" aria-hidden="true" {
                polyline class=(class(line.kind)) points="0,5 36,5" {}
            }
            " " (line.name) ", " (line.reach)
            @if !line.shown { " (outside the drawing)" }
        }
    }
}

const fn class(kind: LineKind) -> &'static str {
    match kind {
        LineKind::Flow => "flow",
        LineKind::Adjusted => "adjusted",
        LineKind::Bound => "bound",
        LineKind::Usual => "usual",
        LineKind::Pump => "pump",
    }
}

/// `A` to `Z`, then numbers.
fn name(index: usize) -> String {
    let letter = u8::try_from(index).ok().filter(|index| *index < 26);
    letter.map_or_else(
        || (index + 1).to_string(),
        |index| char::from(b'A' + index).to_string(),
    )
}

struct Frame {
    across: Scale,
    up: Scale,
}

impl Frame {
    fn of(drawing: &Drawing) -> Self {
        Self {
            across: Scale::of(&drawing.across, LEFT, RIGHT),
            up: Scale::of(&drawing.up, BOTTOM, TOP),
        }
    }
}

/// Brings a number of an axis to the paper.
struct Scale {
    from: Exact,
    /// Paper per unit; nothing for an axis of one number.
    per: Exact,
    begin: i64,
}

impl Scale {
    fn of(axis: &DrawnAxis, begin: i64, end: i64) -> Self {
        let read = |text: &str| Exact::parse_decimal(text).unwrap_or_default();
        let (from, to) = (read(&axis.from), read(&axis.to));
        let per = Exact::int(end - begin).checked_div(&(&to - &from));
        Self {
            from,
            per: per.unwrap_or_default(),
            begin,
        }
    }

    fn exactly(&self, decimal: &str) -> Option<Exact> {
        let number = Exact::parse_decimal(decimal)?;
        Some(&Exact::int(self.begin) + &(&(&number - &self.from) * &self.per))
    }

    fn place(&self, decimal: &str) -> Option<String> {
        Some(on_paper(&self.exactly(decimal)?))
    }
}

fn on_paper(place: &Exact) -> String {
    machine::decimal(place, 2)
}

fn points(stroke: &[Point], across: &Scale, up: &Scale) -> String {
    let points = stroke.iter().filter_map(|point| {
        Some(format!(
            "{},{}",
            across.place(&point.x)?,
            up.place(&point.y)?
        ))
    });
    points.collect::<Vec<_>>().join(" ")
}

struct Letter {
    name: String,
    y: String,
}

/// A letter beside the end of each line that is shown, moved apart.
fn letters(drawing: &Drawing, up: &Scale) -> Vec<Letter> {
    let end = |line: &DrawnLine| {
        let last = line.strokes.last()?.last()?;
        let place = up.exactly(&last.y)?;
        Some(place.max(Exact::int(TOP)).min(Exact::int(BOTTOM)))
    };
    let lines = drawing
        .lines
        .iter()
        .enumerate()
        .filter(|(_, line)| line.shown);
    let mut ends: Vec<_> = lines
        .filter_map(|(index, line)| Some((end(line)?, index)))
        .collect();
    ends.sort();
    // Down from the top, each clear of the one above; then back up, so that
    // the last does not leave the drawing.
    let apart = Exact::int(APART);
    let mut lowest = Exact::int(TOP);
    for (place, _) in &mut ends {
        *place = place.clone().max(lowest);
        lowest = &*place + &apart;
    }
    let mut highest = Exact::int(BOTTOM);
    for (place, _) in ends.iter_mut().rev() {
        *place = place.clone().min(highest);
        highest = &*place - &apart;
    }
    let placed = ends.into_iter().map(|(place, index)| Letter {
        name: name(index),
        y: on_paper(&place),
    });
    placed.collect()
}
