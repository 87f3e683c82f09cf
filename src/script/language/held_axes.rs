//! The axes of figures while somebody holds the handle of a control: each figure keeps those that it had before, so that a curve moves
//! and not its axes.

use crate::figure::{Figure, Reading, reading};
use std::collections::HashMap;
use std::sync::{Mutex, MutexGuard, PoisonError};

/// Which statement of a study, by its text, and which of its figures.
type Which = (String, usize);

/// Figures that are kept; one that is not has its own axes once.
const MOST_FIGURES: usize = 500;

/// The axes of the figures of a session.
#[derive(Debug, Default)]
pub struct HeldAxes {
    inner: Mutex<Inner>,
}

#[derive(Debug, Default)]
struct Inner {
    /// The statement that runs; nothing where nobody may hold a handle.
    statement: Option<String>,
    /// Its figures until now.
    figures: usize,
    held: bool,
    /// The figures as they were drawn last while nobody held a handle.
    last: HashMap<Which, Figure>,
    /// Their axes, once asked for.
    axes: HashMap<Which, Option<Reading>>,
    /// True when the statement has drawn on held axes.
    stretched: bool,
}

impl HeldAxes {
    /// A statement begins, of a study whose controls have handles.
    pub fn begin(&self, statement: Option<&str>) {
        let mut inner = self.lock();
        (inner.statement, inner.figures, inner.stretched) = (statement.map(String::from), 0, false);
    }

    /// Somebody takes a handle, or lets it go.
    pub fn hold(&self, held: bool) {
        let mut inner = self.lock();
        inner.held = held;
        inner.axes.clear();
    }

    /// True when the statement has drawn a figure on other axes than its own.
    pub fn take_stretched(&self) -> bool {
        std::mem::take(&mut self.lock().stretched)
    }

    /// The figure as it is to be drawn.
    pub fn on_held_axes(&self, mut figure: Figure) -> Figure {
        let mut inner = self.lock();
        let Some(statement) = inner.statement.clone() else { return figure };
        let which = (statement, inner.figures);
        inner.figures += 1;
        if !inner.held {
            if inner.last.len() >= MOST_FIGURES {
                inner.last.clear(); // Most are of texts that the study no longer has.
            }
            inner.last.insert(which, figure.clone());
            return figure;
        }
        let before = inner.last.get(&which).and_then(reading);
        let Some(axes) = *inner.axes.entry(which).or_insert(before) else { return figure };
        if reading(&figure).is_some_and(|own| (own.x, own.y) != (axes.x, axes.y)) {
            (figure.x.range, figure.y.range) = (Some(axes.x), Some(axes.y));
            figure.held = true;
            inner.stretched = true;
        }
        figure
    }

    fn lock(&self) -> MutexGuard<'_, Inner> {
        self.inner.lock().unwrap_or_else(PoisonError::into_inner)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::figure::{Axis, CurveStyle, Series};

    fn figure(top: f64) -> Figure {
        let series = vec![Series::new("berry", vec![(0.0, 10.0), (100.0, top)])];
        Figure::curves(Axis::new("length"), Axis::new("pressure"), CurveStyle::Lines, series)
    }

    #[test]
    fn axes_stay_while_a_handle_is_held_and_are_free_again_after() {
        let axes = HeldAxes::default();
        let draw = |top: f64| {
            axes.begin(Some("chart(t)"));
            let drawn = axes.on_held_axes(figure(top));
            (reading(&drawn).expect("curves").y, axes.take_stretched())
        };
        let (own, _) = draw(50.0);
        axes.hold(true);
        let (before, _) = (reading(&figure(50.0)).expect("curves"), draw(50.0));
        axes.begin(Some("chart(t)"));
        let after = reading(&axes.on_held_axes(figure(90.0))).expect("curves");
        assert_eq!(after, before, "no note about what lies outside moves the plot");
        assert_eq!(draw(90.0), (own, true));
        assert_eq!(draw(50.0), (own, false), "it is as its own axes would be");
        axes.hold(false);
        let (free, stretched) = draw(90.0);
        assert!(free.1 > own.1 && !stretched);
        // Where nobody holds a handle, nothing is kept.
        axes.begin(None);
        axes.on_held_axes(figure(50.0));
        assert_eq!(axes.lock().last.len(), 1);
    }
}
