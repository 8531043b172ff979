//! The steps of the sheet's reading as numbered pictures: a person sees at a glance where a reading went wrong.

use tiny_skia::{LineCap, PathBuilder};

use super::canvas::{Canvas, Cells, Pen, Weight};
use super::chain::chain;
use super::light::decode;
use super::png;
use crate::error::Result;
use crate::report::look::{Colour, HAIRLINE, INK, OVER, PAPER, PARTS, QUIET, SMALL, TEXT, UNDER};
use crate::sheet::figures::Region;
use crate::sheet::lines::{Course, StraightLine};
use crate::sheet::picture::Picture;
use crate::sheet::read::Reading;
use crate::sheet::runs::{Joined, Runs};
use crate::sheet::steps::{Step, Watch};
use crate::space::Point;

/// Most columns and rows of a picture, without its heading.
const MOST: [usize; 2] = [1600, 1000];
/// Room for the heading.
const HEAD: f64 = 58.0;
/// Left margin and baselines of the heading.
const HEADING: [f64; 3] = [16.0, 25.0, 46.0];
/// How far the drawing is faded where something is drawn over it, 0 to 1.
const FADED: f64 = 0.6;
/// Weight of what is drawn over it.
const STRONG: f32 = 2.2;

/// Collects the pictures while a sheet is read.
#[derive(Default)]
pub struct StepPictures {
    /// The reduced picture in sRGB, for steps that are drawn over it.
    under: Option<Raster>,
    /// Name and content of each file.
    files: Vec<(String, Vec<u8>)>,
    /// The first thing that went wrong.
    failed: Option<crate::error::Error>,
}

/// Colours in rows.
#[derive(Clone)]
struct Raster {
    width: usize,
    height: usize,
    colours: Vec<Colour>,
}

impl Raster {
    fn new(width: usize, height: usize, of: impl Fn(usize, usize) -> Colour) -> Self {
        let colours = (0..width * height).map(|i| of(i % width, i / width)).collect();
        Self {
            width,
            height,
            colours,
        }
    }

    /// Pixels along a side that make one of the shown picture.
    fn every(&self) -> usize {
        let [w, h] = MOST;
        self.width.div_ceil(w).max(self.height.div_ceil(h)).max(1)
    }

    /// The mean colour of a block of `every` by `every` pixels.
    fn block(&self, i: usize, j: usize, every: usize) -> Colour {
        let (mut sum, mut count) = ([0u32; 3], 0);
        for y in j * every..((j + 1) * every).min(self.height) {
            for x in i * every..((i + 1) * every).min(self.width) {
                let c = self.colours[y * self.width + x];
                sum = std::array::from_fn(|k| sum[k] + u32::from(c[k]));
                count += 1;
            }
        }
        sum.map(|v| (v / count.max(1)) as u8)
    }

    fn faded(&self) -> Self {
        let fade = |v: u8| (f64::from(v) + (255.0 - f64::from(v)) * FADED) as u8;
        Self {
            colours: self.colours.iter().map(|c| c.map(fade)).collect(),
            ..*self
        }
    }
}

impl StepPictures {
    /// The finished pictures, with the outlines drawn over the drawing as the last.
    ///
    /// # Errors
    /// A picture could not be made.
    pub fn finish(mut self, reading: Option<&Reading>) -> Result<Vec<(String, Vec<u8>)>> {
        if let (Some(reading), Some(under)) = (reading, self.under.clone()) {
            let text = format!(
                "{} figures; solid: the outline that is measured",
                reading.figures.len()
            );
            self.picture(
                "outline",
                "Outline over the drawing",
                &text,
                &under.faded(),
                |c, scale, top| {
                    let scale = scale / factor(reading, &under);
                    let mut path = PathBuilder::new();
                    for ring in reading.figures.iter().flat_map(|f| &f.upright.rings) {
                        chain(
                            &mut path,
                            ring.iter().map(|p| (p.x * scale, top + p.y * scale)),
                            true,
                        );
                    }
                    if let Some(path) = path.finish() {
                        c.stroke(&path, Pen::solid(STRONG, OVER), LineCap::Butt);
                    }
                },
            );
        }
        match self.failed {
            Some(e) => Err(e),
            None => Ok(self.files),
        }
    }

    /// Draws a raster with a heading, and `over` it what it draws, told points a pixel and the raster's top.
    fn picture(
        &mut self,
        name: &str,
        title: &str,
        text: &str,
        raster: &Raster,
        over: impl FnOnce(&mut Canvas, f64, f64),
    ) {
        let number = self.files.len() + 1;
        let every = raster.every();
        let (w, h) = (raster.width.div_ceil(every), raster.height.div_ceil(every));
        let made = Canvas::new(w as f64, h as f64 + HEAD, 1.0).and_then(|mut canvas| {
            let cells = Cells {
                left: 0,
                top: HEAD as usize,
                width: w,
                height: h,
            };
            canvas.paint(cells, |i, j| decode(raster.block(i, j, every)));
            over(&mut canvas, 1.0 / every as f64, HEAD);
            let [left, first, second] = HEADING;
            canvas.text(
                &format!("{number}  {title}"),
                TEXT,
                Weight::Strong,
                (left, first),
                INK,
            );
            let text = canvas.font().shortened(text, SMALL, w as f64 - 2.0 * left);
            canvas.text(&text, SMALL, Weight::Book, (left, second), QUIET);
            png::encode(canvas.into_pixmap(), 1.0)
        });
        match made {
            Ok(bytes) => self.files.push((format!("{number}-{name}.png"), bytes)),
            Err(e) => {
                self.failed.get_or_insert(e);
            }
        }
    }
}

/// Pixels of the full picture that make one of the reduced, from their sizes.
fn factor(reading: &Reading, under: &Raster) -> f64 {
    (2.0 * reading.levelling.centre.1 / under.height as f64)
        .round()
        .max(1.0)
}

fn raster_of(picture: &Picture) -> Raster {
    Raster::new(picture.width(), picture.height(), |x, y| {
        let [r, g, b, a] = picture.rgba(x, y);
        let over =
            |v: u8, p: u8| ((u32::from(v) * u32::from(a) + u32::from(p) * (255 - u32::from(a))) / 255) as u8;
        [over(r, PAPER[0]), over(g, PAPER[1]), over(b, PAPER[2])]
    })
}

/// A mask in black on paper; with colours, each connected part has one of them.
fn raster_of_runs(runs: &Runs, coloured: bool) -> Raster {
    let (width, height) = (runs.width as usize, runs.height());
    let labels = coloured.then(|| runs.labels(Joined::Eight));
    let mut raster = Raster::new(width, height, |_, _| PAPER);
    for y in 0..height {
        for i in runs.range(y) {
            let r = runs.runs[i];
            let colour = labels
                .as_ref()
                .map_or(INK, |l| PARTS[l.of_run[i] as usize % PARTS.len()]);
            raster.colours[y * width..][r.x0 as usize..r.x1 as usize].fill(colour);
        }
    }
    raster
}

fn over_lines(canvas: &mut Canvas, lines: &[StraightLine], (w, h): (f64, f64), scale: f64, top: f64) {
    for l in lines {
        let at = |along: f64, length: f64| l.middle + l.slope * (along - length / 2.0);
        let ends = match l.course {
            Course::Across => [(0.0, at(0.0, w)), (w, at(w, w))],
            Course::Upright => [(at(0.0, h), 0.0), (at(h, h), h)],
        };
        let ends = ends.map(|(x, y)| (x * scale, top + y * scale));
        canvas.line(&ends, Pen::solid(STRONG, UNDER));
    }
}

fn over_boxes(canvas: &mut Canvas, regions: &[Region], scale: f64, top: f64) {
    for r in regions {
        let [x0, y0, x1, y1] = r.bounds.map(|v| v as f64 * scale);
        let corners = [(x0, y0), (x1, y0), (x1, y1), (x0, y1), (x0, y0)];
        canvas.line(
            &corners.map(|(x, y)| (x, y + top)),
            Pen::solid(2.0 * HAIRLINE, OVER),
        );
    }
}

impl Watch for StepPictures {
    fn see(&mut self, step: &Step<'_>) {
        match step {
            Step::Levelled {
                picture,
                levelling,
                factor,
            } => {
                let flat = raster_of(picture);
                let small = crate::sheet::level::Levelling {
                    centre: (picture.width() as f64 / 2.0, picture.height() as f64 / 2.0),
                    ..*levelling
                };
                let turned = Raster::new(flat.width, flat.height, |x, y| {
                    let p = small.unlevel(Point::new(x as f64 + 0.5, y as f64 + 0.5));
                    let inside =
                        p.x >= 0.0 && p.y >= 0.0 && p.x < flat.width as f64 && p.y < flat.height as f64;
                    if inside {
                        flat.colours[p.y as usize * flat.width + p.x as usize]
                    } else {
                        PAPER
                    }
                });
                let text = format!(
                    "turned back by {:.2} degrees; looked at at 1 to {factor} of its size",
                    levelling.skew.to_degrees()
                );
                self.picture("levelled", "Levelled", &text, &turned, |_, _, _| {});
                self.under = Some(flat);
            }
            Step::Flattened(d) => {
                let raster = Raster::new(d.width, d.height, |x, y| [255 - d.values[y * d.width + x]; 3]);
                let text = format!(
                    "how far each place departs from the paper around it; from {} of 255 on it counts as drawn",
                    d.threshold
                );
                self.picture("flattened", "Flattened", &text, &raster, |_, _, _| {});
                let marks = Runs::at_least(&d.values, d.width, d.threshold);
                let text = "all that is dark or coloured enough, guide lines still among it";
                self.picture(
                    "line",
                    "Drawn",
                    text,
                    &raster_of_runs(&marks, false),
                    |_, _, _| {},
                );
            }
            Step::Guides(lines) => {
                let Some(under) = self.under.as_ref().map(Raster::faded) else {
                    return;
                };
                let across = lines.iter().filter(|l| l.course == Course::Across).count();
                let text = format!(
                    "{across} lines across, {} upright; they are taken out",
                    lines.len() - across
                );
                let size = (under.width as f64, under.height as f64);
                self.picture("guides", "Guide lines", &text, &under, |c, scale, top| {
                    over_lines(c, lines, size, scale, top);
                });
            }
            Step::Marks(runs) => {
                let text = "each connected part in a colour; an outline that breaks changes its colour";
                self.picture("parts", "Parts", text, &raster_of_runs(runs, true), |_, _, _| {});
            }
            Step::Closed { marks, bridges } => {
                let text = format!("{} gaps closed, each shown by a bar and a ring", bridges.len());
                self.picture(
                    "closed-gaps",
                    "Closed gaps",
                    &text,
                    &raster_of_runs(marks, false),
                    |c, scale, top| {
                        for b in *bridges {
                            let [a, e] = [b.from, b.to].map(|p| (p[0] * scale, top + p[1] * scale));
                            c.line(&[a, e], Pen::solid(2.0 * STRONG, OVER));
                            let middle = (f64::midpoint(a.0, e.0), f64::midpoint(a.1, e.1));
                            c.ring(middle.0, middle.1, 9.0, Pen::solid(STRONG, OVER));
                        }
                    },
                );
            }
            Step::Figures(regions) => {
                let Some(under) = self.under.as_ref() else {
                    return;
                };
                let mut raster = Raster::new(under.width, under.height, |_, _| PAPER);
                for (k, r) in regions.iter().enumerate() {
                    for (j, row) in r.rows.iter().enumerate() {
                        let line = &mut raster.colours[(r.bounds[1] + j) * under.width..][..under.width];
                        for run in row {
                            line[run.x0 as usize..run.x1 as usize].fill(PARTS[k % PARTS.len()]);
                        }
                    }
                }
                let text = format!("{} figures; what the outside does not reach", regions.len());
                self.picture("figures", "Figures", &text, &raster, |c, scale, top| {
                    over_boxes(c, regions, scale, top);
                });
            }
        }
    }
}
