//! Sums over a delivery: in all, and the most in any stretch of time.

use gutta_quantity::Exact;

use super::most;
use super::rated::{Gives, Rated};
use super::{Counted, Delivery, Flush, Piece, Pushed, Repeats, times};
use crate::curve::Curve;

/// A sum that may never end.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Endless<T> {
    /// It comes to this.
    Ends(T),
    /// It grows without end.
    WithoutEnd,
}

impl Delivery<'_> {
    /// All of something over the whole order; `None` where it cannot be
    /// computed.
    #[must_use]
    pub fn all(&self, counted: Counted<'_>) -> Option<Endless<Curve>> {
        let mut sum = self.view.patients.constant(Exact::ZERO);
        for piece in &self.pieces {
            let Some(per_volume) = self.in_piece(piece, counted) else {
                continue;
            };
            let (Some(volume), Some(times)) = (&piece.volume, times(&piece.every)) else {
                return Some(Endless::WithoutEnd);
            };
            sum = sum.add(&repeated(volume.mul(&per_volume)?, times))?;
        }
        if let Some(lost) = self.lost(self.pieces.iter(), counted)? {
            sum = sum.sub(&lost)?;
        }
        for flush in &self.flushes {
            let Some(strength) = self.in_flush(flush, counted) else {
                continue;
            };
            let Some(times) = times(&flush.every) else {
                return Some(Endless::WithoutEnd);
            };
            sum = sum.add(&repeated(flush.volume.scale(&strength), times))?;
        }
        for pushed in &self.pushed {
            let Some(per_volume) = self.in_pushed(pushed, counted) else {
                continue;
            };
            let Some(times) = times(&pushed.every) else {
                return Some(Endless::WithoutEnd);
            };
            sum = sum.add(&repeated(pushed.volume.mul(&per_volume)?, times))?;
        }
        Some(Endless::Ends(sum))
    }

    /// The most of something in any stretch of `window`, over the patients; see
    /// [`most::most`]. `None` where it cannot be computed.
    #[must_use]
    pub fn most_in(&self, counted: Counted<'_>, window: &Exact) -> Option<Curve> {
        let mut sight = Sight {
            delivery: self,
            counted,
            rated: Vec::with_capacity(self.pieces.len()),
            undated: Vec::new(),
        };
        let mut pieces = self.pieces.iter().peekable();
        let mut flushes = self.flushes.iter().peekable();
        let mut pushed = self.pushed.iter().peekable();
        for phase in 0..self.view.phases.len() {
            while let Some(by_bag) = pushed.next_if(|of| of.by == phase && of.behind.is_some()) {
                sight.pushed(by_bag)?;
            }
            let runs = |piece: &&Piece| piece.phase == phase && !piece.source.is_kept_open();
            while let Some(piece) = pieces.next_if(runs) {
                sight.piece(piece)?;
            }
            while let Some(flush) = flushes.next_if(|flush| flush.phase == phase) {
                sight.flush(flush)?;
            }
            while let Some(by_fluid) = pushed.next_if(|of| of.by == phase) {
                sight.pushed(by_fluid)?;
            }
            while let Some(kept_open) = pieces.next_if(|piece| piece.phase == phase) {
                sight.piece(kept_open)?;
            }
        }
        let mut most = most::most(&self.view.patients, &sight.rated, window)?;
        for (amount, every) in sight.undated {
            most = most.add(&amount.scale(&times_in(every, window)?))?;
        }
        Some(most)
    }
}

/// What windows see of a delivery.
struct Sight<'a, 'b> {
    delivery: &'b Delivery<'a>,
    counted: Counted<'b>,
    rated: Vec<Rated<'b>>,
    /// What comes after something without end: it counts in every window.
    undated: Vec<(Curve, &'b Repeats)>,
}

impl<'b> Sight<'_, 'b> {
    fn piece(&mut self, piece: &'b Piece) -> Option<()> {
        if let Some(per_volume) = self.delivery.in_piece(piece, self.counted) {
            self.rated.push(Rated {
                start: &piece.start,
                time: piece.time.clone(),
                every: &piece.every,
                gives: Gives::Steadily(piece.flow.mul(&per_volume)?),
            });
        }
        Some(())
    }

    fn flush(&mut self, flush: &'b Flush) -> Option<()> {
        if let Some(strength) = self.delivery.in_flush(flush, self.counted) {
            let amount = flush.volume.scale(&strength);
            self.at_once(flush.start.as_ref(), amount, &flush.every);
        }
        Some(())
    }

    fn pushed(&mut self, pushed: &'b Pushed) -> Option<()> {
        let Some(per_volume) = self.delivery.in_pushed(pushed, self.counted) else {
            return Some(());
        };
        match (&pushed.start, &pushed.flow) {
            (Some(start), Some(flow)) => self.rated.push(Rated {
                start,
                time: Some(pushed.volume.div(flow)?),
                every: &pushed.every,
                gives: Gives::Steadily(flow.mul(&per_volume)?),
            }),
            (start, _) => {
                let amount = pushed.volume.mul(&per_volume)?;
                self.at_once(start.as_ref(), amount, &pushed.every);
            }
        }
        Some(())
    }

    fn at_once(&mut self, start: Option<&'b Curve>, amount: Curve, every: &'b Repeats) {
        match start {
            Some(start) => self.rated.push(Rated {
                start,
                time: Some(self.delivery.view.patients.constant(Exact::ZERO)),
                every,
                gives: Gives::AtOnce(amount),
            }),
            None => self.undated.push((amount, every)),
        }
    }
}

fn repeated(once: Curve, times: u32) -> Curve {
    match times {
        1 => once,
        times => once.scale(&Exact::from(i64::from(times))),
    }
}

/// How often something with these repetitions happens in a window, at most.
fn times_in(every: &Repeats, window: &Exact) -> Option<Exact> {
    let Some((interval, count)) = every else {
        return Some(Exact::ONE);
    };
    let fit = window.checked_div(interval)?.ceil().max(Exact::ONE);
    Some(match count {
        Some(count) => fit.min(Exact::from(i64::from(*count))),
        None => fit,
    })
}
