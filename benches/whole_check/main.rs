//! The whole process of `check` against its floor: the fastest decoding of the sheet plus reading and parsing the mesh in
//! one thread, both measured in the same run. Also the split into stages and the peak of memory.
//!
//! `cargo bench --bench whole_check` runs the two smaller loads, `cargo bench --bench whole_check -- large huge` others.
//! Seconds of a shared machine mean little: look at the ratios.

#![allow(clippy::print_stdout, reason = "a benchmark prints its figures")]

mod loads;

use std::hint::black_box;
use std::path::Path;
use std::process::{Child, Command, ExitStatus, Stdio};
use std::time::{Duration, Instant};

use drawntrue::check::{Checked, ImageRead, check};
use drawntrue::mesh::obj::{self, Limits};
use drawntrue::place::assign::{Asked, Candidate, Given, OUTLINE_ROWS, place};
use drawntrue::report::look::PICTURE_HEIGHT;
use drawntrue::report::model::{LineEdge, MeshInput, Settings, SheetInput};
use drawntrue::report::overlay::{Subject, overlay, overlays};
use drawntrue::report::{csv, json};
use drawntrue::sheet::decode::{DEFAULT_MAX_PIXELS, decode};
use drawntrue::sheet::read::read;
use drawntrue::silhouette::{Azimuth, silhouettes};

use loads::{Files, LOADS, Load, files};

/// Runs of each thing that is timed; the shortest counts for the floor, the median is shown for the process.
const RUNS: usize = 7;

fn shortest<T>(mut run: impl FnMut() -> T) -> Duration {
    (0..RUNS)
        .map(|_| {
            let start = Instant::now();
            black_box(run());
            start.elapsed()
        })
        .min()
        .unwrap_or_default()
}

fn ms(d: Duration) -> f64 {
    1000.0 * d.as_secs_f64()
}

/// Decoding with the fastest of the decoders at hand, and nothing else.
fn decode_only(bytes: &[u8]) -> usize {
    let mut reader = png::Decoder::new(std::io::Cursor::new(bytes))
        .read_info()
        .expect("a PNG");
    let mut out = vec![0; reader.output_buffer_size().expect("a size")];
    reader.next_frame(&mut out).expect("a picture");
    out.len()
}

/// The program at work.
fn begun(files: &Files, out: &Path) -> Child {
    Command::new(env!("CARGO_BIN_EXE_drawntrue"))
        .args(["check", "--quiet", "--no-page", "--sheet"])
        .arg(&files.sheet)
        .arg("--out")
        .arg(out)
        .arg(&files.mesh)
        .stdout(Stdio::null())
        .spawn()
        .expect("the program")
}

fn ended(status: ExitStatus) {
    assert!(status.code().is_some_and(|c| c < 2), "the check ran");
}

/// The time of one run of the program.
fn process(files: &Files, out: &Path) -> Duration {
    let start = Instant::now();
    ended(begun(files, out).wait().expect("a status"));
    start.elapsed()
}

/// The peak of memory of one run in KiB. Asking for it often costs the run some time, so that it is not timed.
fn memory(files: &Files, out: &Path) -> u64 {
    let mut child = begun(files, out);
    let status = format!("/proc/{}/status", child.id());
    let mut peak = 0;
    loop {
        if let Some(done) = child.try_wait().expect("a status") {
            ended(done);
            return peak;
        }
        let text = std::fs::read_to_string(&status).unwrap_or_default();
        let line = text.lines().find(|l| l.starts_with("VmHWM:")).unwrap_or_default();
        peak = line
            .split_whitespace()
            .nth(1)
            .and_then(|v| v.parse().ok())
            .unwrap_or(peak)
            .max(peak);
        std::thread::sleep(Duration::from_micros(300));
    }
}

fn settings() -> Settings {
    Settings::default()
}

/// Prints each stage's shortest time within this process, and returns the result.
fn stages(sheet: &[u8], mesh: &[u8]) {
    let show = |name: &str, d: Duration| println!("    {name:<28}{:>9.1} ms", ms(d));
    show("decode", shortest(|| decode(sheet, DEFAULT_MAX_PIXELS)));
    let picture = decode(sheet, DEFAULT_MAX_PIXELS).expect("a picture");
    show("read the sheet", shortest(|| read(&picture, LineEdge::Centre)));
    show("read the mesh", shortest(|| obj::read(mesh, Limits::default())));
    let body = obj::read(mesh, Limits::default()).expect("a mesh");
    let images = [ImageRead {
        asked: Asked::Any,
        named: Vec::new(),
        axes_px: Vec::new(),
        reading: read(&picture, LineEdge::Centre).expect("a reading"),
        input: SheetInput {
            path: "sheet.png".to_string(),
            sha256: String::new(),
            width_px: picture.width() as u32,
            height_px: picture.height() as u32,
        },
    }];
    let input = || MeshInput {
        path: "mesh.obj".to_string(),
        sha256: String::new(),
        vertices: 0,
        faces: 0,
        triangles: 0,
        quads: 0,
        ngons: 0,
    };
    let candidates: Vec<Candidate<'_>> = images[0]
        .reading
        .figures
        .iter()
        .map(|figure| Candidate {
            image: 0,
            asked: Asked::Any,
            figure,
            axis_px: None,
        })
        .collect();
    let four = [0.0, 90.0, 180.0, -90.0].map(Azimuth::from_degrees);
    let seen = silhouettes(&body, &four);
    show("four silhouettes", shortest(|| silhouettes(&body, &four)));
    let look = |azimuths: &[Azimuth]| {
        let known = |a: &Azimuth| seen.iter().find(|s| s.azimuth() == *a);
        azimuths
            .iter()
            .filter_map(known)
            .map(|s| s.outline(OUTLINE_ROWS))
            .collect()
    };
    let given = Given::default();
    show(
        "place",
        shortest(|| place(&candidates, &look, &given).expect("a placement")),
    );
    let compare = || check(&body, input(), &images, settings(), Vec::new()).expect("a check");
    show("silhouettes, place, compare", shortest(compare));
    let Checked { report, views, .. } = compare();
    let subjects: Vec<Subject<'_>> = views
        .iter()
        .enumerate()
        .map(|(view, shown)| Subject {
            report: &report,
            view,
            shown,
            picture: &picture,
            reading: &images[0].reading,
        })
        .collect();
    show("one overlay", shortest(|| overlay(&subjects[0], PICTURE_HEIGHT)));
    show("all overlays", shortest(|| overlays(&subjects, PICTURE_HEIGHT)));
    show("report.json", shortest(|| json::write(&report)));
    show("rows.csv", shortest(|| csv::write(&report)));
}

fn run(load: &Load, folder: &Path) {
    let files = files(load, folder);
    let (sheet, mesh) = (
        std::fs::read(&files.sheet).expect("the sheet"),
        std::fs::read(&files.mesh).expect("the mesh"),
    );
    let one = rayon::ThreadPoolBuilder::new()
        .num_threads(1)
        .build()
        .expect("a thread");
    let decoding = shortest(|| decode_only(&sheet));
    let parsing = one.install(|| {
        shortest(|| {
            let bytes = std::fs::read(&files.mesh).expect("the mesh");
            obj::read(&bytes, Limits::default()).expect("a mesh").face_count()
        })
    });
    let floor = ms(decoding) + ms(parsing);
    let out = folder.join("out");
    let mut runs: Vec<Duration> = (0..RUNS).map(|_| process(&files, &out)).collect();
    runs.sort();
    let (least, middle) = (ms(runs[0]), ms(runs[RUNS / 2]));
    let peak = (0..RUNS).map(|_| memory(&files, &out)).max().unwrap_or(0);
    let body = obj::read(&mesh, Limits::default()).expect("a mesh");
    let pixels = decode(&sheet, DEFAULT_MAX_PIXELS)
        .map(|p| p.width() * p.height())
        .expect("a picture");
    let most = (1.5 * (16 * body.face_count() + 24 * body.positions().len()) as f64 + 6.0 * pixels as f64)
        / 1024.0
        + 20.0 * 1024.0;
    println!(
        "{}: {} quads, sheet of {:.1} megapixels\n  floor {floor:.1} ms (decoding {:.1}, mesh {:.1})\n  process {least:.1} to {middle:.1} ms (shortest, median of {RUNS}), {:.2} of the floor; bound {:.1} ms, better {:.1} ms\n  memory {:.1} MiB, bound {:.1} MiB",
        load.name,
        body.face_count(),
        pixels as f64 / 1e6,
        ms(decoding),
        ms(parsing),
        middle / floor,
        20.0 + 2.0 * floor,
        15.0 + 1.25 * floor,
        peak as f64 / 1024.0,
        most / 1024.0,
    );
    stages(&sheet, &mesh);
}

fn main() {
    let folder = Path::new(env!("CARGO_TARGET_TMPDIR")).join("loads");
    let asked: Vec<String> = std::env::args().skip(1).filter(|a| !a.starts_with('-')).collect();
    let chosen = LOADS.iter().enumerate().filter(|(i, l)| {
        if asked.is_empty() {
            *i < 2
        } else {
            asked.iter().any(|a| a == l.name)
        }
    });
    for (_, load) in chosen {
        run(load, &folder);
    }
}
