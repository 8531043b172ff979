//! The program while it watches, and a page that listens to it, for tests.
#![allow(dead_code, reason = "every test uses another part of it")]

use std::io::{BufRead as _, BufReader, Read as _, Write as _};
use std::net::{TcpStream, ToSocketAddrs as _};
use std::path::{Path, PathBuf};
use std::process::{Child, Command, Stdio};
use std::sync::mpsc::{Receiver, channel};
use std::time::{Duration, Instant};

use serde_json::Value;
use sha2::{Digest as _, Sha256};

/// Nothing takes so long unless it never comes.
pub(crate) const NEVER: Duration = Duration::from_secs(60);

/// The program at work; it is ended with the test.
pub(crate) struct Program {
    child: Child,
    pub(crate) folder: tempfile::TempDir,
    pub(crate) mesh: PathBuf,
    pub(crate) lines: Receiver<String>,
    pub(crate) errors: Receiver<String>,
    /// Where the page is, without `http://`; empty without one.
    pub(crate) address: String,
}

impl Drop for Program {
    fn drop(&mut self) {
        let _ = self.child.kill();
        let _ = self.child.wait();
    }
}

fn lines(of: impl std::io::Read + Send + 'static) -> Receiver<String> {
    let (say, heard) = channel();
    std::thread::spawn(move || {
        for line in BufReader::new(of).lines().map_while(Result::ok) {
            if say.send(line).is_err() {
                return;
            }
        }
    });
    heard
}

/// A pillar of square rings whose half width is `half` at the share `at` of its height of 100: tests tell versions by it.
pub(crate) fn pillar(half: impl Fn(f64) -> f64) -> String {
    const RINGS: usize = 24;
    let mut out = String::new();
    for k in 0..=RINGS {
        let at = k as f64 / RINGS as f64;
        let h = half(at);
        for (x, z) in [(-1.0, -1.0), (1.0, -1.0), (1.0, 1.0), (-1.0, 1.0)] {
            out += &format!("v {:.6} {:.6} {:.6}\n", x * h, 100.0 * at, z * h);
        }
    }
    out += "f 1 2 3 4\n";
    for k in 0..RINGS {
        for j in 0..4 {
            let (a, b) = (4 * k + j + 1, 4 * k + (j + 1) % 4 + 1);
            out += &format!("f {b} {a} {} {}\n", a + 4, b + 4);
        }
    }
    let top = 4 * RINGS;
    out + &format!("f {} {} {} {}\n", top + 4, top + 3, top + 2, top + 1)
}

/// The pillar as it is drawn: wider in the middle.
pub(crate) fn drawn(at: f64) -> f64 {
    12.0 + 6.0 * (std::f64::consts::PI * at).sin()
}

/// Its drawing, front or side, `high` pixels from the middle of its upper line to that of its lower one: ink on paper.
pub(crate) fn drawing(high: usize) -> Vec<u8> {
    /// Half of the line's width, pixels.
    const LINE: f64 = 1.5;
    let margin = high / 10;
    let (w, h) = (high / 2 + 2 * margin, high + 2 * margin);
    let mut grey = vec![255u8; w * h];
    for (i, pixel) in grey.iter_mut().enumerate() {
        let (x, y) = ((i % w) as f64 + 0.5, (i / w) as f64 + 0.5 - margin as f64);
        let at = 1.0 - y / high as f64;
        let beside = (x - w as f64 / 2.0).abs() - drawn(at.clamp(0.0, 1.0)) / 100.0 * high as f64;
        // How far inside the figure: less than nothing outside.
        let inside = (-beside).min(y).min(high as f64 - y);
        if inside.abs() <= LINE {
            *pixel = 30;
        }
    }
    let mut out = Vec::new();
    let mut encoder = png::Encoder::new(&mut out, w as u32, h as u32);
    encoder.set_color(png::ColorType::Grayscale);
    let mut writer = encoder.write_header().expect("a header");
    writer.write_image_data(&grey).expect("a picture");
    writer.finish().expect("a picture");
    out
}

pub(crate) fn hash(text: &str) -> String {
    Sha256::digest(text.as_bytes())
        .iter()
        .map(|b| format!("{b:02x}"))
        .collect()
}

impl Program {
    /// Watches a pillar against its drawing. `more` are further arguments.
    pub(crate) fn start(more: &[&str]) -> Self {
        Self::start_in(tempfile::tempdir().expect("a folder"), more, &[])
    }

    pub(crate) fn start_in(folder: tempfile::TempDir, more: &[&str], env: &[(&str, &str)]) -> Self {
        let mesh = folder.path().join("mesh.obj");
        std::fs::write(&mesh, pillar(drawn)).expect("written");
        std::fs::write(folder.path().join("front.png"), drawing(300)).expect("written");
        let mut child = Command::new(env!("CARGO_BIN_EXE_drawntrue"))
            .args(["watch", "mesh.obj", "--front", "front.png", "--out", "out"])
            .args(more)
            .envs(env.iter().copied())
            .current_dir(folder.path())
            .stdin(Stdio::piped())
            .stdout(Stdio::piped())
            .stderr(Stdio::piped())
            .spawn()
            .expect("the program starts");
        let out = lines(child.stdout.take().expect("piped"));
        let errors = lines(child.stderr.take().expect("piped"));
        let mut program = Self {
            child,
            folder,
            mesh,
            lines: out,
            errors,
            address: String::new(),
        };
        if !more.contains(&"--no-serve") {
            let line = program.line();
            let at = line
                .split_once("http://")
                .unwrap_or_else(|| panic!("no address in {line:?}"));
            program.address = at.1.trim_end_matches('/').to_string();
        }
        // The keys, and the first result.
        program.line();
        let first = program.line();
        assert!(first.starts_with("  1  "), "{first:?}");
        program
    }

    #[track_caller]
    pub(crate) fn line(&self) -> String {
        self.lines.recv_timeout(NEVER).unwrap_or_else(|_| {
            panic!(
                "no line; errors: {:?}",
                self.errors.try_iter().collect::<Vec<_>>()
            )
        })
    }

    pub(crate) fn id(&self) -> u32 {
        self.child.id()
    }

    /// Types a line.
    pub(crate) fn types(&mut self, text: &str) {
        writeln!(self.child.stdin.as_mut().expect("piped"), "{text}").expect("typed");
    }

    /// Sends a signal and waits for the end.
    pub(crate) fn end(&mut self, signal: &str) -> Option<i32> {
        let sent = Command::new("kill")
            .args([format!("-{signal}"), self.id().to_string()])
            .status()
            .expect("kill");
        assert!(sent.success());
        let start = Instant::now();
        while start.elapsed() < NEVER {
            if let Some(status) = self.child.try_wait().expect("a status") {
                return status.code();
            }
            std::thread::sleep(Duration::from_millis(5));
        }
        panic!("it does not end");
    }

    /// Memory in use, KiB (proc(5), `VmRSS`).
    #[cfg(target_os = "linux")]
    pub(crate) fn memory(&self) -> u64 {
        let status = std::fs::read_to_string(format!("/proc/{}/status", self.id())).expect("a status");
        let line = status.lines().find(|l| l.starts_with("VmRSS:")).expect("a line");
        line.split_whitespace()
            .nth(1)
            .expect("a number")
            .parse()
            .expect("a number")
    }

    /// The answer to a request that is sent as it is: status, head and body.
    pub(crate) fn asked(&self, request: &str) -> Option<(u16, String, Vec<u8>)> {
        let mut stream = TcpStream::connect(&self.address).expect("connected");
        stream.set_read_timeout(Some(NEVER)).expect("set");
        stream.write_all(request.as_bytes()).ok()?;
        let mut all = Vec::new();
        let _ = stream.read_to_end(&mut all);
        let end = all.windows(4).position(|w| w == b"\r\n\r\n")?;
        let head = String::from_utf8_lossy(&all[..end]).into_owned();
        let status = head.split(' ').nth(1)?.parse().ok()?;
        Some((status, head, all[end + 4..].to_vec()))
    }

    /// A plain request to an address of the page with some more lines in its head.
    pub(crate) fn get(&self, path: &str, more: &str) -> (u16, String, Vec<u8>) {
        self.asked(&format!(
            "GET {path} HTTP/1.1\r\nHost: {}\r\n{more}\r\n",
            self.address
        ))
        .expect("an answer")
    }

    pub(crate) fn post(&self, path: &str, more: &str) -> u16 {
        self.asked(&format!(
            "POST {path} HTTP/1.1\r\nHost: {}\r\nContent-Length: 0\r\n{more}\r\n",
            self.address
        ))
        .expect("an answer")
        .0
    }

    /// The page asks for something.
    pub(crate) fn wish(&self, path: &str) {
        let status = self.post(path, &format!("Origin: http://{}\r\n", self.address));
        assert_eq!(status, 204);
    }

    pub(crate) fn page(&self) -> Page {
        Page::open(&self.address)
    }

    pub(crate) fn report(&self) -> Value {
        let text = std::fs::read(self.folder.path().join("out/report.json")).expect("a report");
        serde_json::from_slice(&text).expect("JSON")
    }
}

/// What a page hears.
pub(crate) struct Page {
    pub(crate) events: Receiver<(String, Value)>,
}

impl Page {
    fn open(address: &str) -> Self {
        let to = address
            .to_socket_addrs()
            .expect("an address")
            .next()
            .expect("one");
        let mut stream = TcpStream::connect(to).expect("connected");
        write!(stream, "GET /events HTTP/1.1\r\nHost: {address}\r\n\r\n").expect("asked");
        let (say, events) = channel();
        std::thread::spawn(move || {
            let mut reader = BufReader::new(stream);
            let mut line = String::new();
            while reader.read_line(&mut line).unwrap_or(0) > 2 {
                line.clear();
            }
            // Chunks (RFC 9112, 7.1), joined before they are cut into events.
            let mut text = Vec::new();
            loop {
                line.clear();
                if reader.read_line(&mut line).unwrap_or(0) == 0 {
                    return;
                }
                let Ok(size) = usize::from_str_radix(line.trim(), 16) else {
                    return;
                };
                let mut chunk = vec![0; size + 2];
                if size == 0 || reader.read_exact(&mut chunk).is_err() {
                    return;
                }
                text.extend_from_slice(&chunk[..size]);
                while let Some(end) = text.windows(2).position(|w| w == b"\n\n") {
                    let event = String::from_utf8(text.drain(..end + 2).collect()).expect("UTF-8");
                    let field = |name: &str| {
                        event
                            .lines()
                            .find_map(|l| l.strip_prefix(name))
                            .map(str::to_string)
                    };
                    if let (Some(name), Some(data)) = (field("event: "), field("data: ")) {
                        let value = serde_json::from_str(&data).expect("JSON");
                        if say.send((name, value)).is_err() {
                            return;
                        }
                    }
                }
            }
        });
        Self { events }
    }

    /// Waits for an event of a kind that is as wanted.
    #[track_caller]
    pub(crate) fn wait(&self, kind: &str, wanted: impl Fn(&Value) -> bool) -> Value {
        let start = Instant::now();
        while start.elapsed() < NEVER {
            match self.events.recv_timeout(NEVER) {
                Ok((name, value)) if name == kind && wanted(&value) => return value,
                Ok(_) => {}
                Err(e) => panic!("{e}"),
            }
        }
        panic!("nothing that is wanted came");
    }

    /// Waits for the result of a mesh with this text.
    #[track_caller]
    pub(crate) fn wait_for(&self, text: &str) -> Value {
        let sha = hash(text);
        self.wait("check", |v| {
            v["report"]["inputs"]["mesh"]["sha256"] == sha.as_str()
        })
    }
}

/// Ways of saving a file.
#[derive(Debug, Clone, Copy)]
pub(crate) enum Way {
    InPlace,
    /// In pieces, with pauses.
    Slowly,
    /// In pieces, the file being closed between them.
    Reopened,
    Renamed,
    /// The old file is renamed away first.
    Backup,
    Removed,
}

pub(crate) const WAYS: [Way; 6] = [
    Way::InPlace,
    Way::Slowly,
    Way::Reopened,
    Way::Renamed,
    Way::Backup,
    Way::Removed,
];

pub(crate) fn save(path: &Path, text: &str, way: Way) {
    use std::fs::{self, OpenOptions};
    let pause = || std::thread::sleep(Duration::from_millis(3));
    let bytes = text.as_bytes();
    let pieces = || bytes.chunks(bytes.len().div_ceil(4));
    match way {
        Way::InPlace => fs::write(path, bytes).expect("written"),
        Way::Slowly => {
            let mut file = fs::File::create(path).expect("a file");
            for piece in pieces() {
                file.write_all(piece).expect("written");
                file.flush().expect("written");
                pause();
            }
        }
        Way::Reopened => {
            fs::write(path, b"").expect("written");
            for piece in pieces() {
                let mut file = OpenOptions::new().append(true).open(path).expect("a file");
                file.write_all(piece).expect("written");
                drop(file);
                pause();
            }
        }
        Way::Renamed => {
            let new = path.with_extension("tmp");
            fs::write(&new, bytes).expect("written");
            fs::rename(&new, path).expect("renamed");
        }
        Way::Backup => {
            fs::rename(path, path.with_extension("bak")).expect("renamed");
            fs::write(path, bytes).expect("written");
        }
        Way::Removed => {
            fs::remove_file(path).expect("removed");
            pause();
            fs::write(path, bytes).expect("written");
        }
    }
}
