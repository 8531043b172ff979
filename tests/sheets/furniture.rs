//! What else stands on a sheet: guide lines, frames, title blocks, labels, arrows, swatches, insets, shadows.

use super::body::Body;
use super::curve::{bounds, dense};
use super::page::{Page, Set, Style};
use super::pen::Pen;
use super::solid::{P, Ring};

#[derive(Clone, Copy, PartialEq)]
pub(crate) enum Guide {
    Solid,
    Dashed,
    /// Drawn between the figures only, some way off each.
    Short,
}

impl Page {
    /// A guide line across the sheet, levelled pixels.
    pub(crate) fn guide(&mut self, y: f64, guide: Guide, pen: &Pen) {
        let (from, to) = (0.035 * self.truth.width as f64, 0.965 * self.truth.width as f64);
        self.guide_between(y, from, to, guide, pen);
        if guide != Guide::Short {
            self.truth.guides.push(y);
        } else {
            self.truth.other_lines.push(y);
        }
    }

    /// The same between two columns; not written down as a guide.
    pub(crate) fn guide_between(&mut self, y: f64, from: f64, to: f64, guide: Guide, pen: &Pen) {
        let mut pieces = vec![(from, to)];
        if guide == Guide::Dashed {
            let dash = 0.012 * (to - from);
            pieces = (0..)
                .map(|i| from + f64::from(i) * 1.6 * dash)
                .take_while(|x| x + dash < to)
                .map(|x| (x, x + dash))
                .collect();
        }
        if guide == Guide::Short {
            for f in &self.truth.figures {
                let b = bounds(&f.rings);
                let (a, z) = (b[0] - 0.02 * (to - from), b[2] + 0.02 * (to - from));
                pieces = pieces
                    .into_iter()
                    .flat_map(|(p, q)| [(p, q.min(a)), (p.max(z), q)])
                    .filter(|(p, q)| q > p)
                    .collect();
            }
        }
        let strokes: Vec<_> = pieces
            .into_iter()
            .map(|(p, q)| {
                dense(&[[p, y], [q, y]], 40.0)
                    .into_iter()
                    .map(|n| (n, pen.width / 2.0, pen.tone.1))
                    .collect()
            })
            .collect();
        let mask = self.canvas.strokes(&strokes);
        self.canvas.lay(&mask, pen.colour, 1.0);
    }

    /// A thin upright line through a figure.
    pub(crate) fn centre_line(&mut self, x: f64, from: f64, to: f64, pen: &Pen) {
        let strokes: Vec<_> = dense(&[[x, from], [x, to]], 14.0)
            .chunks(3)
            .map(|c| {
                vec![
                    (c[0], pen.width / 2.0, pen.tone.1),
                    (c[c.len() - 1], pen.width / 2.0, pen.tone.1),
                ]
            })
            .collect();
        let mask = self.canvas.strokes(&strokes);
        self.canvas.lay(&mask, pen.colour, 1.0);
    }

    /// A box of lines.
    pub(crate) fn frame(&mut self, [x0, y0, x1, y1]: [f64; 4], pen: &Pen) {
        self.pen(&[vec![[x0, y0], [x1, y0], [x1, y1], [x0, y1], [x0, y0]]], pen);
        self.truth.other_lines.extend([y0, y1]);
    }

    /// A table of two rows with writing in it.
    pub(crate) fn title_block(&mut self, [x0, y0, x1, y1]: [f64; 4], pen: &Pen) {
        let (mx, my) = (x0 + 0.66 * (x1 - x0), (y0 + y1) / 2.0);
        self.frame([x0, y0, x1, y1], pen);
        self.pen(&[vec![[x0, my], [x1, my]], vec![[mx, y0], [mx, y1]]], pen);
        self.truth.other_lines.push(my);
        let size = 0.22 * (y1 - y0);
        for (x, y, letters) in [(x0, y0, 14), (x0, my, 11), (mx, y0, 6), (mx, my, 5)] {
            self.label([x + size, y + 1.6 * size], size, letters, pen.colour);
        }
    }

    /// Writing that says nothing: strokes as letters have them. `at` is the foot of the first letter.
    pub(crate) fn label(&mut self, at: P, size: f64, letters: usize, colour: [u8; 3]) {
        // Letters on a grid of 4 by 6, row 0 the top.
        const SHAPES: [&[[f64; 2]]; 9] = [
            &[[0.0, 6.0], [0.0, 0.0], [0.0, 3.0], [3.0, 2.4], [3.0, 6.0]],
            &[[3.0, 2.5], [1.0, 2.0], [0.0, 4.0], [1.0, 6.0], [3.0, 5.5]],
            &[[0.0, 2.0], [3.0, 6.0], [1.5, 4.0], [3.0, 2.0], [0.0, 6.0]],
            &[
                [1.5, 2.0],
                [0.2, 3.0],
                [0.2, 5.0],
                [1.5, 6.0],
                [2.8, 5.0],
                [2.8, 3.0],
                [1.5, 2.0],
            ],
            &[[1.5, 0.0], [1.5, 5.2], [2.6, 6.0]],
            &[[0.0, 0.0], [3.0, 0.0], [1.5, 0.0], [1.5, 6.0]],
            &[[0.0, 6.0], [1.5, 0.0], [3.0, 6.0], [2.2, 3.5], [0.8, 3.5]],
            &[
                [0.0, 2.0],
                [0.0, 6.0],
                [0.0, 3.0],
                [1.6, 2.0],
                [1.6, 6.0],
                [1.6, 3.0],
                [3.2, 2.0],
                [3.2, 6.0],
            ],
            &[[3.0, 2.0], [0.4, 2.4], [2.8, 5.0], [0.0, 6.0]],
        ];
        let k = size / 6.0;
        let pen = Pen::ink((size * 0.11).max(1.2)).colour(colour);
        let mut lines = Vec::new();
        for i in 0..letters {
            if i % 6 == 5 {
                continue;
            }
            let shape = SHAPES[self.rng.below(SHAPES.len())];
            let x = at[0] + i as f64 * 4.4 * k;
            lines.push(
                shape
                    .iter()
                    .map(|p| [x + p[0] * k, at[1] + (p[1] - 6.0) * k])
                    .collect::<Ring>(),
            );
        }
        self.pen(&lines, &pen);
    }

    /// A leader with an arrow head at `to` and writing at `from`.
    pub(crate) fn arrow(&mut self, from: P, to: P, size: f64, pen: &Pen) {
        let angle = (to[1] - from[1]).atan2(to[0] - from[0]);
        let barb = |turn: f64| {
            let a = angle + std::f64::consts::PI + turn;
            [to[0] + 0.7 * size * a.cos(), to[1] + 0.7 * size * a.sin()]
        };
        self.pen(&[vec![from, to], vec![barb(0.4), to, barb(-0.4)]], pen);
        let x = if to[0] > from[0] {
            from[0] - 6.0 * size
        } else {
            from[0] + 0.4 * size
        };
        self.label([x, from[1] + 0.4 * size], size, 7, pen.colour);
    }

    /// Patches of colour, one below the other, with writing beside.
    pub(crate) fn swatches(&mut self, at: P, size: f64, colours: &[[u8; 3]], pen: &Pen) {
        for (i, colour) in colours.iter().enumerate() {
            let (x, y) = (at[0], at[1] + i as f64 * 1.35 * size);
            let ring = vec![
                [x, y],
                [x + 1.4 * size, y],
                [x + 1.4 * size, y + size],
                [x, y + size],
            ];
            self.patch(&ring, *colour, 1.0);
            let mut closed = ring.clone();
            closed.push(ring[0]);
            self.pen(&[closed], pen);
            self.label([x + 1.7 * size, y + 0.7 * size], 0.45 * size, 6, pen.colour);
        }
    }

    /// A head, larger, in a box: it is no view.
    pub(crate) fn inset(&mut self, body: &Body, [x0, y0, x1, y1]: [f64; 4], neck: f64, style: &Style) {
        let mut head = body.clone();
        head.parts.retain(|p| p.solid.middle()[1] > neck);
        head.belts.clear();
        head.places.clear();
        let height = 0.78 * (y1 - y0);
        let foot = y1 - 0.11 * (y1 - y0);
        self.view(&head, Set("inset", 0.0, height, (x0 + x1) / 2.0, foot), style);
        self.truth.figures.pop();
        let pen = style.pen.unwrap_or(Pen::ink(2.0));
        self.frame([x0, y0, x1, y1], &pen);
    }

    /// A soft patch under the feet of the last figure; it touches the soles.
    pub(crate) fn shadow(&mut self, strength: f64) {
        let Some(f) = self.truth.figures.last() else {
            return;
        };
        let [x0, y0, x1, y1] = bounds(&f.rings);
        let (m, h) = ((x0 + x1) / 2.0, y1 - y0);
        let half = 0.42 * (x1 - x0).min(0.5 * h) + 0.05 * h;
        for (k, part) in [(1.0, 0.35), (0.8, 0.35), (0.6, 0.3)] {
            let ring: Ring = (0..80)
                .map(|i| {
                    let (s, c) = (f64::from(i) / 80.0 * std::f64::consts::TAU).sin_cos();
                    [m + half * k * c, y1 + 0.006 * h + 0.016 * h * k * s]
                })
                .collect();
            self.patch(&ring, [90, 92, 104], strength * part);
        }
    }
}
