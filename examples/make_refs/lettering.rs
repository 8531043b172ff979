//! Hand lettering: capitals, digits and a few signs as pen strokes on a grid four wide and six high.

use crate::ink::{Pen, Strokes, curve};
use crate::noise;
use crate::view::V2;

/// Strokes of one sign: points as `xy` digit pairs parted by blanks, strokes by `|`; a leading `~` asks for a
/// smooth curve through the points.
fn strokes(sign: char) -> &'static str {
    match sign {
        'A' => "00 26 40|12 32",
        'B' => "00 06|~06 26 35 34 23 03|~03 23 42 41 20 00",
        'C' => "~45 36 16 04 02 10 30 41",
        'D' => "00 06|~06 26 44 42 20 00",
        'E' => "46 06 00 40|03 33",
        'F' => "46 06 00|03 33",
        'G' => "~45 36 16 04 02 10 30 42|42 22",
        'H' => "00 06|40 46|03 43",
        'I' => "10 16",
        'J' => "~36 32 30 10 02",
        'K' => "00 06|46 03|13 40",
        'L' => "06 00 40",
        'M' => "00 06 22 46 40",
        'N' => "00 06 40 46",
        'O' => "~26 16 04 02 10 30 42 44 36 16",
        'P' => "00 06|~06 26 45 44 23 03",
        'Q' => "~26 16 04 02 10 30 42 44 36 16|22 40",
        'R' => "00 06|~06 26 45 44 23 03|23 40",
        'S' => "~45 36 16 05 04 23 42 41 30 10 01",
        'T' => "06 46|26 20",
        'U' => "~06 02 10 30 42 46",
        'V' => "06 20 46",
        'W' => "06 10 24 30 46",
        'X' => "06 40|46 00",
        'Y' => "06 23 46|23 20",
        'Z' => "06 46 00 40",
        '0' => "~26 15 03 11 20 31 43 35 26 15",
        '1' => "15 26 20",
        '2' => "~05 16 36 44 22 00|00 40",
        '3' => "~05 16 36 45 44 23|~23 43 41 30 10 01",
        '4' => "30 36 02 42",
        '5' => "46 06 04|~04 24 43 41 30 10 01",
        '6' => "~46 25 03 01 20 41 42 33 12 02",
        '7' => "06 46 10",
        '8' => "~23 05 16 36 45 23 02 10 30 42 23",
        '9' => "~44 33 13 04 15 36 45 43 31 10",
        '.' => "10 11",
        ',' => "11 00",
        '-' => "13 33",
        '/' => "00 46",
        ':' => "11 12|14 15",
        '(' => "~36 24 22 30",
        ')' => "~16 24 22 10",
        _ => "",
    }
}

/// Width of a sign and the space to the next, as shares of the height of a capital.
const WIDE: f64 = 0.56;
const SPACE: f64 = 0.26;
/// How much the hand's letters change in size and place, as a share of the height.
const UNEVEN: f64 = 0.035;
/// The letters lean by this much x for each y.
const LEAN: f64 = 0.08;

/// Writes a line; `at` is the left end of its base line in pixels.
pub(crate) fn write(out: &mut Strokes, text: &str, at: V2, height: f64, pen: Pen, seed: u64) {
    let mut x = at[0];
    for (i, sign) in text.chars().enumerate() {
        let shake = |k: u64| UNEVEN * noise::hash(i as i64, 0, seed + k);
        let size = height * (1.0 + shake(1));
        let base = at[1] + height * shake(2);
        for (k, stroke) in strokes(sign).split('|').enumerate() {
            let (smooth, points) = match stroke.strip_prefix('~') {
                Some(rest) => (true, rest),
                None => (false, stroke),
            };
            let places: Vec<V2> = points
                .split_whitespace()
                .filter_map(|pair| {
                    let mut d = pair.chars().filter_map(|c| c.to_digit(10)).map(f64::from);
                    let (u, v) = (d.next()? / 4.0 * WIDE, d.next()? / 6.0);
                    Some([x + size * (u + LEAN * v), base - size * v])
                })
                .collect();
            let line = if smooth { curve(&places) } else { places };
            out.open(&line, pen, seed + 17 * i as u64 + k as u64);
        }
        x += advance(sign) * height;
    }
}

/// Length of a line of text in pixels.
pub(crate) fn length(text: &str, height: f64) -> f64 {
    text.chars().map(advance).sum::<f64>() * height
}

fn advance(sign: char) -> f64 {
    match sign {
        ' ' | 'I' | '.' | ',' | ':' => WIDE * 0.5 + SPACE,
        _ => WIDE + SPACE,
    }
}
