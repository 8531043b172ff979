//! Steps of the sheet reader against scikit-image 0.26.0 and SciPy 1.17.1 on two images that scikit-image ships: hole
//! filling, contour following, thresholding. The reference values are frozen; each says how it was computed. Licences:
//! `data/images-LICENSE.txt`.

use drawntrue::sheet::decode::{DEFAULT_MAX_PIXELS, decode};
use drawntrue::sheet::edge::LineEdge;
use drawntrue::sheet::figures::{Region, outside, regions};
use drawntrue::sheet::picture::{Channels, Picture};
use drawntrue::sheet::read::read;
use drawntrue::sheet::runs::{Joined, Runs};
use drawntrue::sheet::tone::Paper;
use drawntrue::sheet::trace::{CrackRing, rings};

const HORSE: &[u8] = include_bytes!("data/horse.png");
const HANDWRITING: &[u8] = include_bytes!("data/handwriting.png");
const SAUVOLA: &[u8] = include_bytes!("data/handwriting-sauvola.png");

/// `skimage.filters.threshold_otsu(handwriting)`: at most this bright is ink.
const OTSU: u8 = 109;

/// A black and white plane.
struct Plane {
    width: usize,
    height: usize,
    on: Vec<bool>,
}

impl Plane {
    fn of(bytes: &[u8], brightest: u8) -> Self {
        let picture = decode(bytes, DEFAULT_MAX_PIXELS).expect("a picture");
        let (width, height) = (picture.width(), picture.height());
        let on = (0..width * height)
            .map(|i| picture.rgba(i % width, i / width)[0] <= brightest)
            .collect();
        Self { width, height, on }
    }

    /// With `margin` pixels of ground around.
    fn padded(&self, margin: usize) -> Self {
        let (width, height) = (self.width + 2 * margin, self.height + 2 * margin);
        let mut on = vec![false; width * height];
        for y in 0..self.height {
            let to = (y + margin) * width + margin;
            on[to..to + self.width].copy_from_slice(&self.on[y * self.width..(y + 1) * self.width]);
        }
        Self { width, height, on }
    }

    /// Pixels with one of the four neighbours off.
    fn border(&self) -> Self {
        let w = self.width;
        let on = (0..self.on.len())
            .map(|i| self.on[i] && [i - 1, i + 1, i - w, i + w].iter().any(|k| !self.on[*k]))
            .collect();
        Self { on, ..*self }
    }

    fn count(&self) -> usize {
        self.on.iter().filter(|v| **v).count()
    }

    fn runs(&self) -> Runs {
        let values: Vec<u8> = self.on.iter().map(|v| u8::from(*v)).collect();
        Runs::at_least(&values, self.width, 1)
    }
}

/// Rings of a region's marks: outer borders and those of its pockets.
fn all_rings(region: &Region) -> Vec<CrackRing> {
    let pockets: Vec<_> = region
        .pockets
        .iter()
        .flat_map(|p| p.runs.iter().copied())
        .collect();
    rings(region, &pockets)
}

/// The polygon through the middles of the cracks: what marching squares at one half draws on a mask. Number of points,
/// length, area (positive for an outer ring).
fn through_middles(ring: &CrackRing) -> (usize, f64, f64) {
    let n = ring.len();
    let middle = |i: usize| {
        let (a, b) = (ring[i % n], ring[(i + 1) % n]);
        [f64::from(a[0] + b[0]) / 2.0, f64::from(a[1] + b[1]) / 2.0]
    };
    let (mut length, mut area) = (0.0, 0.0);
    for i in 0..n {
        let (p, q) = (middle(i), middle(i + 1));
        length += (p[0] - q[0]).hypot(p[1] - q[1]);
        area -= (p[0] * q[1] - q[0] * p[1]) / 2.0;
    }
    (n, length, area)
}

/// `scipy.ndimage.binary_fill_holes(edge)` where `edge = horse & ~binary_erosion(horse)`: 2,068 pixels of border,
/// 43,418 filled, the horse's own 43,412 pixels and the hole in its tail.
#[test]
fn an_outline_of_one_pixel_fills_as_in_scipy() {
    let horse = Plane::of(HORSE, 0).padded(40);
    assert_eq!(horse.count(), 43_412);
    let edge = horse.border();
    assert_eq!(edge.count(), 2_068);
    let found = regions(&edge.runs());
    assert_eq!(found.len(), 1);
    assert_eq!(found[0].area, 43_418);
    let ground: u32 = outside(&edge.runs()).runs.iter().map(|r| r.x1 - r.x0).sum();
    assert_eq!(ground as usize, horse.width * horse.height - 43_418);
}

/// `binary_fill_holes` of the inked pixels: 10,255 become 10,389, in 143 pieces (`scipy.ndimage.label`, eight
/// neighbours). Nine of them are at least a fifth as tall as the tallest, which is what the reader goes on with; they
/// have 27 holes (four neighbours).
#[test]
fn letters_and_their_eyes_are_counted_as_in_scipy() {
    let ink = Plane::of(HANDWRITING, OTSU);
    assert_eq!(ink.count(), 10_255);
    let filled = outside(&ink.runs()).complement();
    assert_eq!(filled.runs.iter().map(|r| r.x1 - r.x0).sum::<u32>(), 10_389);
    assert_eq!(filled.labels(Joined::Eight).count, 143);
    let found = regions(&ink.runs());
    let areas: Vec<u64> = found.iter().map(|r| r.area).collect();
    assert_eq!(areas, [2886, 809, 801, 478, 414, 343, 296, 199, 162]);
    let mut holes: Vec<u64> = found.iter().flat_map(|r| &r.pockets).map(|p| p.area).collect();
    holes.sort_unstable_by_key(|h| std::cmp::Reverse(*h));
    let mut want = vec![42, 18, 14, 11, 6, 4, 4, 3, 3, 2, 2, 2, 2, 2];
    want.resize(27, 1);
    assert_eq!(holes, want);
}

/// `skimage.measure.find_contours(horse, 0.5, fully_connected="high")`: two contours of 2,644 and 14 points, lengths
/// 2299.5575746753802 and 12.828427124746192, areas 43417.5 and -5.5.
#[test]
fn contours_of_a_silhouette_are_those_of_scikit_image() {
    let found = regions(&Plane::of(HORSE, 0).padded(40).runs());
    let mut contours: Vec<_> = all_rings(&found[0]).iter().map(through_middles).collect();
    contours.sort_by_key(|c| std::cmp::Reverse(c.0));
    let want = [
        (2_644, 2_299.557_574_675_380_2, 43_417.5),
        (14, 12.828_427_124_746_192, -5.5),
    ];
    assert_eq!(contours.len(), want.len());
    for (got, want) in contours.iter().zip(want) {
        assert_eq!(got.0, want.0);
        // Sums of a few thousand roots, each rounded to 1e-16 of its size.
        assert!(
            (got.1 - want.1).abs() < 1e-9 && (got.2 - want.2).abs() < 1e-9,
            "{got:?} instead of {want:?}"
        );
    }
}

/// The same on the nine tall pieces of the handwriting: 36 contours, 4,858 points, length 4108.779146275189, area
/// 6269.0 in all.
#[test]
fn contours_of_handwriting_are_those_of_scikit_image() {
    let ink = Plane::of(HANDWRITING, OTSU).padded(1);
    let contours: Vec<_> = regions(&ink.runs())
        .iter()
        .flat_map(all_rings)
        .map(|r| through_middles(&r))
        .collect();
    assert_eq!(contours.len(), 36);
    assert_eq!(contours.iter().map(|c| c.0).sum::<usize>(), 4_858);
    let length: f64 = contours.iter().map(|c| c.1).sum();
    let area: f64 = contours.iter().map(|c| c.2).sum();
    assert!((length - 4_108.779_146_275_189).abs() < 1e-8, "length {length}");
    assert!((area - 6_269.0).abs() < 1e-8, "area {area}");
}

/// The whole reader on the silhouette against `find_contours(gaussian_filter(horse, 1), 0.5)`: area
/// 43423.79, length 2167.87 (the longest contour). The smoothing is another one: along the border, not of the picture.
#[test]
fn the_outline_of_a_silhouette_agrees_with_a_smoothed_contour() {
    const AREA: f64 = 43_423.79;
    const LENGTH: f64 = 2_167.87;
    let horse = Plane::of(HORSE, 0).padded(60);
    let data = horse.on.iter().map(|v| if *v { 0 } else { 255 }).collect();
    let picture = Picture::new(horse.width, horse.height, Channels::Grey, data);
    let reading = read(&picture, LineEdge::Centre).expect("a figure");
    assert_eq!(reading.figures.len(), 1);
    let outline = &reading.figures[0].upright;
    // Half a pixel all round would be 2.5 % of the area; rounding the tips of ears and hooves costs length.
    assert!((outline.area() / AREA - 1.0).abs() < 0.001);
    assert!((outline.perimeter() / LENGTH - 1.0).abs() < 0.02);
}

/// Share of the pixels of `a` that have one of `b` within `reach` pixels.
fn met(a: &Plane, b: &Plane, reach: usize) -> f64 {
    let near = |i: usize| {
        let (x, y) = (i % a.width, i / a.width);
        (y.saturating_sub(reach)..(y + reach + 1).min(a.height))
            .any(|v| (x.saturating_sub(reach)..(x + reach + 1).min(a.width)).any(|u| b.on[v * b.width + u]))
    };
    let on: Vec<usize> = (0..a.on.len()).filter(|i| a.on[*i]).collect();
    on.iter().filter(|i| near(**i)).count() as f64 / on.len() as f64
}

/// Marks of the reader on unevenly lit handwriting against Sauvola's threshold, which marks 7,801 pixels.
#[test]
fn marks_on_uneven_paper_agree_with_sauvola() {
    let picture = decode(HANDWRITING, DEFAULT_MAX_PIXELS).expect("a picture");
    let departure = Paper::find(&picture).departure(&picture);
    let marks = Plane {
        width: departure.width,
        height: departure.height,
        on: departure
            .values
            .iter()
            .map(|v| *v >= departure.threshold)
            .collect(),
    };
    let sauvola = Plane::of(SAUVOLA, 0);
    assert_eq!(sauvola.count(), 7_801);
    let share = |p: &Plane| p.count() as f64 / p.on.len() as f64;
    // A stroke is about 4 pixels wide. Nearly every pixel of either is met by the other within a stroke's half width,
    // and where the whole picture's threshold (Otsu) calls shaded paper ink, the reader does not.
    assert!(met(&sauvola, &marks, 1) > 0.95);
    assert!(met(&marks, &sauvola, 2) > 0.99);
    assert!((share(&marks) - share(&sauvola)).abs() < 0.02);
    let otsu = Plane::of(HANDWRITING, OTSU);
    assert!(met(&marks, &otsu, 2) > 0.99);
    assert!(share(&marks) < share(&otsu));
}
