//! The program while somebody models: every way of saving, broken files, the page's server against strangers, the end.
//!
//! Outside references: HTTP/1.1 (RFC 9110, RFC 9112), server-sent events (HTML Living Standard), Origin (RFC 6454),
//! Fetch Metadata (W3C).

#[path = "watch/program.rs"]
mod program;

use std::io::{Read as _, Write as _};
use std::net::TcpStream;
use std::process::Command;
use std::time::{Duration, Instant};

use program::{NEVER, Program, WAYS, Way, drawing, drawn, pillar, save};

/// How many saves of the long run.
const SAVES: usize = 1000;

/// A version of the mesh that no other save has.
fn version(n: usize) -> String {
    let by = 0.01 * (n % 90) as f64;
    format!(
        "# {n}\n{}",
        pillar(move |at| drawn(at) + if (0.3..0.6).contains(&at) { by } else { 0.0 })
    )
}

/// A mesh saved 1,000 times in every way, single and in bursts, ends on the last content every time, in both open pages,
/// and memory stays flat.
#[test]
fn a_thousand_saves_end_on_the_last_content() {
    let program = Program::start(&[]);
    let pages = [program.page(), program.page()];
    let (mut n, mut turn, mut early) = (0, 0, 0);
    while n < SAVES {
        let way = WAYS[turn % WAYS.len()];
        // Every fifth turn is a burst of all ways.
        let burst = if turn % 5 == 4 { 7 } else { 1 };
        let mut text = String::new();
        for k in 0..burst {
            n += 1;
            text = version(n);
            save(
                &program.mesh,
                &text,
                if burst > 1 {
                    WAYS[(turn + k) % WAYS.len()]
                } else {
                    way
                },
            );
        }
        turn += 1;
        for page in &pages {
            let data = page.wait_for(&text);
            assert_eq!(data["report"]["inputs"]["mesh"]["faces"], 98, "{way:?}");
        }
        // The heap has its shape after some saves.
        #[cfg(target_os = "linux")]
        if early == 0 && n > SAVES / 5 {
            early = program.memory();
        }
    }
    #[cfg(target_os = "linux")]
    {
        let late = program.memory();
        eprintln!("{early} KiB after a fifth, {late} KiB at the end of {n} saves");
        // Eight hundred results of half a megabyte would be 400 MiB.
        assert!(late < early + 12 * 1024, "{early} KiB became {late} KiB");
    }
    let _ = early;
}

#[test]
fn a_broken_file_is_told_and_the_last_good_result_stays() {
    let program = Program::start(&[]);
    let page = program.page();
    let first = page.wait("check", |_| true);
    for (broken, expected) in [
        ("v 1 2\n", "line 1"),
        ("v 0 0 0\nf 1 2 3\n", "line 2"),
        ("", "mesh.obj"),
    ] {
        std::fs::write(&program.mesh, broken).expect("written");
        let state = page.wait("state", |s| {
            s["error"].as_str().is_some_and(|e| e.contains(expected))
        });
        assert_eq!(state["number"], 1, "{state}");
        let line = program.errors.recv_timeout(NEVER).expect("a line");
        assert!(line.contains(expected) && line.contains("stays"), "{line}");
    }
    // Not there at all.
    std::fs::remove_file(&program.mesh).expect("removed");
    page.wait("state", |s| {
        s["error"].as_str().is_some_and(|e| e.contains("no such file"))
    });
    // Back as it was: no new result, and no error.
    std::fs::write(&program.mesh, pillar(drawn)).expect("written");
    page.wait("state", |s| s["error"].is_null() && s["number"] == 1);
    // A page that comes now has the first result still.
    let late = program.page().wait("check", |_| true);
    assert_eq!(late["live"]["number"], first["live"]["number"]);
    std::fs::write(&program.mesh, version(1)).expect("written");
    assert_eq!(page.wait_for(&version(1))["live"]["number"], 2);
}

/// A writer that pauses for longer than anybody would wait keeps its file open: nothing of it is judged before.
#[cfg(target_os = "linux")]
#[test]
fn a_file_is_not_judged_before_it_is_whole() {
    let program = Program::start(&[]);
    let page = program.page();
    page.wait("check", |_| true);
    let text = version(3);
    // Half of the faces make a mesh, too.
    let half = text.match_indices("\nf ").nth(40).expect("a face").0;
    let mut file = std::fs::File::create(&program.mesh).expect("a file");
    file.write_all(&text.as_bytes()[..half]).expect("written");
    std::thread::sleep(Duration::from_millis(700));
    file.write_all(&text.as_bytes()[half..]).expect("written");
    drop(file);
    let next = page.wait("check", |_| true);
    assert_eq!(next["report"]["inputs"]["mesh"]["faces"], 98);
}

#[test]
fn placement_is_held_until_a_fresh_one_is_asked_for() {
    let mut program = Program::start(&[]);
    let page = program.page();
    let height = |v: &serde_json::Value| v["report"]["figure_height"].as_f64().expect("a number");
    let first = page.wait("check", |_| true);
    // A mesh that comes back as it was has the same rows to the last digit, and agrees as well: nothing is carried along.
    let wide = pillar(|at| drawn(at) + if (0.4..0.7).contains(&at) { 4.0 } else { 0.0 });
    save(&program.mesh, &wide, Way::InPlace);
    let other = page.wait_for(&wide);
    save(&program.mesh, &pillar(drawn), Way::Renamed);
    let same = page.wait_for(&pillar(drawn));
    assert_ne!(other["views"][0]["rows"], first["views"][0]["rows"]);
    assert_eq!(same["views"][0]["rows"], first["views"][0]["rows"]);
    let agreeing = |v: &serde_json::Value| {
        v["report"]["placement"]["views"][0]["agreeing"]
            .as_f64()
            .expect("a share")
    };
    assert!(
        (agreeing(&same) - agreeing(&first)).abs() < 0.02,
        "{} {}",
        agreeing(&same),
        agreeing(&first)
    );
    assert!(agreeing(&other) < agreeing(&first));
    // The whole pillar a twentieth larger: a fresh placement would make the drawing larger, too.
    let large: String = pillar(drawn)
        .lines()
        .map(|l| match l.strip_prefix("v ") {
            Some(v) => {
                let v: Vec<String> = v
                    .split(' ')
                    .map(|x| (1.05 * x.parse::<f64>().expect("a number")).to_string())
                    .collect();
                format!("v {}\n", v.join(" "))
            }
            None => format!("{l}\n"),
        })
        .collect();
    save(&program.mesh, &large, Way::Renamed);
    let held = page.wait_for(&large);
    assert_eq!(height(&held), height(&first));
    assert_eq!(held["report"]["placement"]["how"], "held");
    assert_eq!(held["live"]["held"], true);
    assert_eq!(held["report"]["verdict"], "off-model");
    assert!(
        !held["live"]["since_save"]["places"]
            .as_array()
            .expect("places")
            .is_empty()
    );
    program.wish("/place");
    let fresh = page.wait("check", |v| v["live"]["number"] == 5);
    assert!(
        (height(&fresh) / height(&first) - 1.05).abs() < 0.005,
        "{}",
        height(&fresh)
    );
    // And that one is held from now on.
    save(&program.mesh, &pillar(drawn), Way::InPlace);
    let back = page.wait_for(&pillar(drawn));
    assert_eq!(height(&back), height(&fresh));
    // By the key in the terminal as well.
    program.types("f");
    let again = page.wait("check", |v| v["live"]["number"] == 7);
    assert!((height(&again) / height(&first) - 1.0).abs() < 0.005);
}

#[test]
fn changes_are_told_since_the_last_save_and_since_the_pin() {
    let program = Program::start(&[]);
    let page = program.page();
    let first = page.wait("check", |_| true);
    assert!(first["live"]["since_save"].is_null() && first["live"]["since_pin"].is_null());
    let wide = |by: f64| pillar(move |at| drawn(at) + if (0.4..0.7).contains(&at) { by } else { 0.0 });
    save(&program.mesh, &wide(4.0), Way::InPlace);
    let second = page.wait_for(&wide(4.0));
    assert_eq!(second["live"]["since_save"]["findings"][0]["how"], "new");
    save(&program.mesh, &wide(2.0), Way::Renamed);
    let third = page.wait_for(&wide(2.0));
    let (save_, pin) = (&third["live"]["since_save"], &third["live"]["since_pin"]);
    assert_eq!(save_["findings"][0]["how"], "better");
    assert_eq!(save_["places"][0]["how"], "better");
    assert_eq!(save_["places"][0]["edge"], "both");
    // The first version is pinned until another is.
    assert_eq!(
        (&third["live"]["pinned"], &pin["findings"][0]["how"]),
        (&1.into(), &"new".into())
    );
    assert!(
        third["views"][0]["before"]
            .as_str()
            .expect("a path")
            .starts_with('M')
    );
    assert!(
        third["views"][0]["pinned"]
            .as_str()
            .expect("a path")
            .starts_with('M')
    );
    program.wish("/pin");
    let pinned = page.wait("check", |v| v["live"]["pinned"] == 3);
    assert!(pinned["live"]["since_pin"].is_null());
    save(&program.mesh, &wide(3.0), Way::Backup);
    let fourth = page.wait_for(&wide(3.0));
    assert_eq!(fourth["live"]["since_pin"]["findings"][0]["how"], "worse");
}

#[test]
fn a_saved_sheet_and_a_saved_setup_count_too() {
    let folder = tempfile::tempdir().expect("a folder");
    let setup = folder.path().join("setup.toml");
    std::fs::write(&setup, "tolerance = 1.0\n").expect("written");
    let program = Program::start_in(folder, &["--setup", "setup.toml"], &[]);
    let page = program.page();
    let picture = |v: &serde_json::Value| v["views"][0]["image"].as_str().expect("an address").to_string();
    let first = page.wait("check", |_| true);
    std::fs::write(&setup, "tolerance = 3.0\n").expect("written");
    let second = page.wait("check", |v| v["report"]["settings"]["tolerance_pct"] == 3.0);
    // The drawing stayed, and its picture with it.
    assert_eq!(picture(&first), picture(&second));
    std::fs::write(program.folder.path().join("front.png"), drawing(330)).expect("written");
    let third = page.wait("check", |v| v["live"]["number"] == 3);
    assert_ne!(picture(&first), picture(&third));
    let (status, head, bytes) = program.get(&picture(&third), "");
    assert!(
        status == 200 && head.contains("image/") && bytes.starts_with(b"\x89PNG"),
        "{head}"
    );
    assert_eq!(program.get(&picture(&first), "").0, 404, "it is shown no more");
    std::fs::write(&setup, "tolerance = \"much\"\n").expect("written");
    page.wait("state", |s| {
        s["error"].as_str().is_some_and(|e| e.contains("setup.toml"))
    });
}

#[test]
fn strangers_are_refused() {
    let program = Program::start(&[]);
    let port = program.address.rsplit(':').next().expect("a port").to_string();
    let own = format!("http://{}", program.address);
    // By its own names it answers.
    for host in [
        format!("127.0.0.1:{port}"),
        format!("localhost:{port}"),
        format!("LOCALHOST:{port}"),
    ] {
        let request = format!("GET / HTTP/1.1\r\nHost: {host}\r\n\r\n");
        assert_eq!(program.asked(&request).expect("an answer").0, 200, "{host}");
    }
    for host in [
        "Host: example.org\r\n".to_string(),
        format!("Host: example.org:{port}\r\n"),
        format!("Host: 127.0.0.1.example.org:{port}\r\n"),
        "Host: 127.0.0.1\r\n".to_string(),
        format!("Host: 127.0.0.2:{port}\r\n"),
        "Host: \r\n".to_string(),
        String::new(),
        format!("Host: 127.0.0.1:{port}\r\nHost: example.org\r\n"),
    ] {
        for path in ["/", "/events", "/picture/x"] {
            let request = format!("GET {path} HTTP/1.1\r\n{host}\r\n");
            let status = program.asked(&request).expect("an answer").0;
            assert!(status == 403 || status == 400, "{host:?} {path}: {status}");
        }
    }
    let absolute = format!(
        "GET http://example.org/ HTTP/1.1\r\nHost: {}\r\n\r\n",
        program.address
    );
    assert_eq!(program.asked(&absolute).expect("an answer").0, 403);
    for line in [
        "Origin: http://example.org",
        "Origin: null",
        &format!("Origin: https://127.0.0.1:{port}"),
        "Origin: http://127.0.0.1:1",
        &format!("Origin: {own}\r\nOrigin: http://example.org"),
        "Sec-Fetch-Site: cross-site",
        "Sec-Fetch-Site: same-site",
    ] {
        for path in ["/", "/events"] {
            assert_eq!(program.get(path, &format!("{line}\r\n")).0, 403, "{line} {path}");
        }
        assert_eq!(program.post("/place", &format!("{line}\r\n")), 403, "{line}");
    }
    // A wish without an origin is no page's.
    assert_eq!(program.post("/pin", ""), 403);
    assert_eq!(program.post("/pin", &format!("Origin: {own}\r\n")), 204);
    // Following a link to the page is nobody's harm.
    let link = "Sec-Fetch-Site: cross-site\r\nSec-Fetch-Mode: navigate\r\n";
    assert_eq!(
        (program.get("/", link).0, program.get("/events", link).0),
        (200, 403)
    );
}

#[test]
fn nothing_but_its_own_results_is_served() {
    let program = Program::start(&[]);
    for path in [
        "/mesh.obj",
        "/out/report.json",
        "/../mesh.obj",
        "/picture/../../mesh.obj",
        "/%2e%2e/mesh.obj",
        "/picture/",
        "//etc/passwd",
        "/index.html",
    ] {
        assert_eq!(program.get(path, "").0, 404, "{path}");
    }
    let (status, head, body) = program.get("/", "");
    let head = head.to_ascii_lowercase();
    assert_eq!(status, 200);
    assert!(!head.contains("access-control"), "{head}");
    for line in ["nosniff", "frame-ancestors 'none'", "no-store", "same-origin"] {
        assert!(head.contains(line), "{line}: {head}");
    }
    let page = String::from_utf8(body).expect("UTF-8");
    assert!(page.contains("connect-src 'self'") && page.contains("default-src 'none'"));
    // No address of another place stands in it but the name of the format of drawings.
    assert!(!page.replace("http://www.w3.org/2000/svg", "").contains("http:"));
    assert!(!page.contains("https:"));
    for method in ["PUT", "DELETE", "OPTIONS", "TRACE", "POST"] {
        let own = format!("Origin: http://{}\r\n", program.address);
        let request = format!(
            "{method} / HTTP/1.1\r\nHost: {}\r\n{own}Content-Length: 0\r\n\r\n",
            program.address
        );
        assert_eq!(program.asked(&request).expect("an answer").0, 405, "{method}");
    }
    let long = format!(
        "POST /pin HTTP/1.1\r\nHost: {0}\r\nOrigin: http://{0}\r\nContent-Length: 9\r\n\r\n123456789",
        program.address
    );
    assert_eq!(program.asked(&long).expect("an answer").0, 413);
    // This machine has more loopback addresses (RFC 1122, 3.2.1.3): it listens on one of them only.
    let port: u16 = program
        .address
        .rsplit(':')
        .next()
        .expect("a port")
        .parse()
        .expect("a number");
    #[cfg(target_os = "linux")]
    assert!(TcpStream::connect(("127.0.0.2", port)).is_err());
    let _ = port;
}

#[test]
fn only_so_many_connections_are_open() {
    let program = Program::start(&[]);
    let all: Vec<TcpStream> = (0..drawntrue::watch::serve::MOST_CONNECTIONS)
        .map(|_| TcpStream::connect(&program.address).expect("connected"))
        .collect();
    std::thread::sleep(Duration::from_millis(200));
    let request = format!("GET / HTTP/1.1\r\nHost: {}\r\n\r\n", program.address);
    assert!(program.asked(&request).is_none(), "one too many is let go");
    drop(all);
    let start = Instant::now();
    while program.asked(&request).is_none() {
        assert!(start.elapsed() < NEVER, "the places are free again");
        std::thread::sleep(Duration::from_millis(20));
    }
}

/// Somebody who sends a request letter by letter, or nothing at all, holds a place for some seconds only.
#[test]
fn slow_requests_are_given_up() {
    let program = Program::start(&[]);
    let page = program.page();
    let start = Instant::now();
    let mut slow: Vec<TcpStream> = ["", "GET / HTTP/1.1\r\nHost: 127"]
        .iter()
        .map(|begun| {
            let mut stream = TcpStream::connect(&program.address).expect("connected");
            stream.write_all(begun.as_bytes()).expect("sent");
            stream.set_read_timeout(Some(NEVER)).expect("set");
            stream
        })
        .collect();
    for stream in &mut slow {
        let mut rest = Vec::new();
        let _ = stream.read_to_end(&mut rest);
        assert!(!rest.starts_with(b"HTTP/1.1 200"));
    }
    assert!(start.elapsed() < Duration::from_secs(30), "{:?}", start.elapsed());
    // A page listens for as long as it likes.
    std::thread::sleep(Duration::from_secs(22).saturating_sub(start.elapsed()));
    save(&program.mesh, &version(5), Way::InPlace);
    page.wait_for(&version(5));
    // A head without an end.
    let head = format!(
        "GET / HTTP/1.1\r\nHost: {}\r\nX: {}\r\n\r\n",
        program.address,
        "x".repeat(1 << 20)
    );
    assert_ne!(program.asked(&head).map(|a| a.0), Some(200));
}

/// Ends with status 0, the last result's files whole, nothing left over.
#[cfg(unix)]
#[test]
fn it_stops_cleanly() {
    for (signal, serving) in [("INT", true), ("TERM", true), ("INT", false)] {
        let mut program = Program::start(if serving { &[] } else { &["--no-serve"] });
        let page = serving.then(|| program.page());
        let text = version(7);
        save(&program.mesh, &text, Way::InPlace);
        program.line();
        assert_eq!(program.end(signal), Some(0), "{signal}");
        let report = program.report();
        assert_eq!(report["inputs"]["mesh"]["sha256"], program::hash(&text).as_str());
        let left: Vec<String> = std::fs::read_dir(program.folder.path().join("out"))
            .expect("a folder")
            .flatten()
            .map(|e| e.file_name().to_string_lossy().into_owned())
            .collect();
        assert!(left.iter().all(|n| !n.starts_with('.')), "{left:?}");
        if let Some(page) = page {
            // Its stream ended.
            while page.events.recv_timeout(NEVER).is_ok() {}
        }
        assert_eq!(program.errors.recv_timeout(NEVER).ok(), None);
    }
}

#[test]
fn without_a_page_every_save_is_one_line() {
    let mut program = Program::start(&["--no-serve", "--unit", "cm"]);
    for n in 1..6 {
        save(&program.mesh, &version(10 * n), WAYS[n % WAYS.len()]);
        let line = program.line();
        assert!(
            line.starts_with(&format!("{:>3}  o", n + 1)) && line.ends_with(" ms"),
            "{line}"
        );
    }
    save(&program.mesh, &version(50), Way::InPlace);
    assert_eq!(program.line().trim(), "saved without a change");
    program.types("p");
    assert_eq!(program.line().trim(), "number 6 is pinned");
    program.types("q");
    assert!(
        program.lines.recv_timeout(NEVER).is_err(),
        "it ends without a word more"
    );
}

/// Status 2 and one line, as of every command.
#[test]
fn what_cannot_be_watched_is_refused() {
    let program = Program::start(&[]);
    let port = program.address.rsplit(':').next().expect("a port");
    for (more, expected) in [
        (vec!["--port", port], "--port"),
        (vec!["--no-serve", "--port", "4000"], "--no-serve"),
        (vec!["--no-serve", "--open"], "--no-serve"),
        (vec!["--setup", "none.toml"], "none.toml"),
        (vec!["--port", "65536"], "65535"),
    ] {
        let out = Command::new(env!("CARGO_BIN_EXE_drawntrue"))
            .args(["watch", "mesh.obj", "--front", "front.png", "--out", "other"])
            .args(&more)
            .current_dir(program.folder.path())
            .output()
            .expect("the program starts");
        let said = String::from_utf8_lossy(&out.stderr);
        assert_eq!(out.status.code(), Some(2), "{more:?}: {said}");
        assert!(said.contains(expected), "{said}");
    }
}

/// The browser is opened at the page's address, by whatever the system has for it.
#[cfg(target_os = "linux")]
#[test]
fn the_browser_is_opened() {
    use std::os::unix::fs::PermissionsExt as _;
    let folder = tempfile::tempdir().expect("a folder");
    let opener = folder.path().join("xdg-open");
    std::fs::write(&opener, "#!/bin/sh\necho \"$1\" > opened.txt\n").expect("written");
    std::fs::set_permissions(&opener, std::fs::Permissions::from_mode(0o755)).expect("set");
    let path = format!(
        "{}:{}",
        folder.path().display(),
        std::env::var("PATH").unwrap_or_default()
    );
    let program = Program::start_in(folder, &["--open"], &[("PATH", &path)]);
    let opened = program.folder.path().join("opened.txt");
    let start = Instant::now();
    while std::fs::read_to_string(&opened).map_or(true, |t| t.is_empty()) {
        assert!(start.elapsed() < NEVER, "nothing was opened");
        std::thread::sleep(Duration::from_millis(10));
    }
    let url = std::fs::read_to_string(&opened).expect("there");
    assert_eq!(url.trim(), format!("http://{}/", program.address));
}
