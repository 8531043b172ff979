//! The confidence of a reading against its error, on sheets from seeds. See `sheets::random` and `sheets::wrong`.

mod sheets;

use drawntrue::sheet::decode::{DEFAULT_MAX_PIXELS, decode};
use drawntrue::sheet::edge::LineEdge;
use drawntrue::sheet::read::read;
use rayon::prelude::*;
use sheets::random::{self, Damage};
use sheets::{look, wrong};

/// Sheets of the run.
const SHEETS: u64 = 128;
/// A file in this environment variable gets one line a view: number, damage, faults, evidence.
const TABLE: &str = "CONFIDENCE_TABLE";

struct View {
    number: u64,
    damage: Damage,
    confidence: f64,
    wrong: String,
    evidence: [(&'static str, f64); 16],
}

fn views(number: u64) -> Vec<View> {
    let (damage, sheet) = random::sheet(number);
    look::write(&format!("random-{number}.png"), &sheet);
    let Ok(reading) = decode(&sheet.bytes, DEFAULT_MAX_PIXELS).and_then(|p| read(&p, LineEdge::Centre)) else {
        return Vec::new();
    };
    let wrong = wrong::wrong(&sheet.truth, &reading);
    reading
        .figures
        .iter()
        .zip(wrong)
        .map(|(f, wrong)| View {
            number,
            damage,
            confidence: f.confidence,
            wrong,
            evidence: f.evidence.named(),
        })
        .collect()
}

#[test]
fn no_wrong_view_is_sure() {
    let count = std::env::var("CONFIDENCE_SHEETS").map_or(SHEETS, |n| n.parse().expect("a number"));
    let all: Vec<View> = (0..count).into_par_iter().flat_map_iter(views).collect();
    let mut table = String::new();
    for v in &all {
        table += &format!("{};{:?};{};{:.3}", v.number, v.damage, v.wrong, v.confidence);
        for (name, amount) in v.evidence {
            table += &format!(";{name}={amount:.5}");
        }
        table.push('\n');
    }
    if let Some(file) = std::env::var_os(TABLE) {
        std::fs::write(file, &table).expect("a file that can be written");
    }
}
