//! `drawntrue watch`: a check that stays open while somebody models.
//!
//! One loop on one thread: it waits for signs of saving, for wishes from the page and the terminal, and for the end;
//! checks; shows; and leaves the writing of files to a thread of its own. What is newest is checked, so that a burst of
//! saves ends on its last.

mod session;
mod writer;

use std::io::IsTerminal as _;
use std::panic::AssertUnwindSafe;
use std::path::PathBuf;
use std::sync::mpsc::{Receiver, RecvTimeoutError, Sender, channel};
use std::time::{Duration, Instant, UNIX_EPOCH};

use bytes::Bytes;
use clap::Args;
use serde::Serialize;

use super::EXIT_WITHIN;
use super::check::CheckArguments;
use super::progress::Progress;
use crate::error::{Error, Result};
use crate::report::files;
use crate::report::page::live::page_of;
use crate::report::page::title;
use crate::report::terminal::{self, Style};
use crate::watch::files::{BROKEN_AFTER, Folders, Seen, Settling, TELLS_CLOSING};
use crate::watch::serve::{Board, Server, Wish};
use session::{Looked, Session};
use writer::Writer;

/// A file that changed while it was read is looked at again after this.
const AGAIN: Duration = Duration::from_millis(20);

/// Arguments of `drawntrue watch`, as typed.
#[derive(Debug, Args)]
pub(super) struct WatchArguments {
    #[command(flatten)]
    check: CheckArguments,
    /// Port of the page on this machine; 0: any that is free
    #[arg(long, value_name = "PORT", default_value_t = 0, conflicts_with = "no_serve")]
    port: u16,
    /// Open the page in the browser
    #[arg(long, conflicts_with = "no_serve")]
    open: bool,
    /// Serve no page: one line a save in the terminal, and the files in the folder for the results
    #[arg(long)]
    no_serve: bool,
}

/// What the loop waits for.
enum Event {
    Seen(Seen),
    Wish(Wish),
    /// Files could not be written.
    Unwritten(Error),
    Stop,
}

/// What the page is told besides the check.
#[derive(Serialize)]
struct State<'a> {
    /// Why the files as they are now cannot be checked.
    error: Option<&'a str>,
    /// Why the files of the result cannot be written.
    unwritten: Option<&'a str>,
    /// The last check's number.
    number: usize,
}

pub(super) fn run(arguments: &WatchArguments) -> Result<u8> {
    let check = &arguments.check;
    files::prepare(&check.out)?;
    let mut session = Session::new(check)?;
    let (say, heard) = channel();
    // Watched from before the first look on: what is saved meanwhile is not missed.
    let files = session.files();
    let folders = folders(&session, &files, &say)?;
    let settling = Settling::new(&files, Instant::now());
    let progress = Progress::new(!check.quiet);
    progress.step("reading mesh and drawing");
    first(&mut session)?;
    progress.done();
    let mut running = Running {
        arguments,
        session,
        folders,
        settling,
        files,
        server: None,
        writer: Writer::start(check, {
            let say = say.clone();
            move |e| drop(say.send(Event::Unwritten(e)))
        })?,
        say: say.clone(),
        revision: UNIX_EPOCH.elapsed().map_or(0, |d| d.as_millis() as u64),
        data: Bytes::new(),
        error: None,
        unwritten: None,
    };
    running.new_result()?;
    if !arguments.no_serve {
        let wish = {
            let say = say.clone();
            move |w| drop(say.send(Event::Wish(w)))
        };
        running.server = Some(Server::start(arguments.port, running.board(), wish)?);
    }
    listen_for_the_end(&say)?;
    listen_to_the_terminal(say);
    running.greet()?;
    running.go_on(&heard)
}

fn folders(session: &Session<'_>, files: &[PathBuf], say: &Sender<Event>) -> Result<Folders> {
    let say = say.clone();
    Folders::new(files, session.beside(), move |seen| {
        drop(say.send(Event::Seen(seen)));
    })
}

/// The first check. What cannot be used ends the program, as it ends `check`.
fn first(session: &mut Session<'_>) -> Result<()> {
    let start = Instant::now();
    loop {
        let files = session.files();
        match session.look(&files, true, start)? {
            Looked::Moving if start.elapsed() < 50 * BROKEN_AFTER => std::thread::sleep(AGAIN),
            Looked::Moving => {
                return Err(Error::new("a file changes all the time").advise("wait until it is written"));
            }
            _ => return Ok(()),
        }
    }
}

/// Ctrl-C and the like end the program when it is done with what it does; a second time at once.
fn listen_for_the_end(say: &Sender<Event>) -> Result<()> {
    /// What a shell reports of a program that Ctrl-C ended: 128 and the signal's number. Common practice, no source.
    const ENDED: i32 = 130;
    let (say, (ready, is_ready)) = (say.clone(), channel());
    let no = |e: std::io::Error| Error::new(format!("Ctrl-C cannot be listened to ({e})"));
    let runtime = tokio::runtime::Builder::new_current_thread()
        .enable_all()
        .build()
        .map_err(no)?;
    std::thread::Builder::new()
        .name("end".to_string())
        .spawn(move || {
            runtime.block_on(async {
                #[cfg(unix)]
                {
                    use tokio::signal::unix::{SignalKind, signal};
                    let both = signal(SignalKind::interrupt())
                        .and_then(|i| Ok((i, signal(SignalKind::terminate())?)));
                    let _ = ready.send(both.is_ok());
                    let Ok((mut interrupt, mut terminate)) = both else {
                        return;
                    };
                    for _ in 0..2 {
                        tokio::select! { _ = interrupt.recv() => {}, _ = terminate.recv() => {} }
                        drop(say.send(Event::Stop));
                    }
                }
                #[cfg(not(unix))]
                {
                    let _ = ready.send(true);
                    for _ in 0..2 {
                        let _ = tokio::signal::ctrl_c().await;
                        drop(say.send(Event::Stop));
                    }
                }
                std::process::exit(ENDED);
            });
        })
        .map_err(no)?;
    match is_ready.recv() {
        Ok(true) => Ok(()),
        _ => Err(Error::new("Ctrl-C cannot be listened to")),
    }
}

/// A letter and Enter in the terminal do what the page's keys do.
fn listen_to_the_terminal(say: Sender<Event>) {
    // Without a thread for it there are no keys; the page has them too.
    let _ = std::thread::Builder::new()
        .name("keys".to_string())
        .spawn(move || {
            for line in std::io::stdin().lines().map_while(std::result::Result::ok) {
                let event = match line.trim() {
                    "f" => Event::Wish(Wish::Place),
                    "p" => Event::Wish(Wish::Pin),
                    "q" => Event::Stop,
                    _ => continue,
                };
                if say.send(event).is_err() {
                    return;
                }
            }
        });
}

struct Running<'a> {
    arguments: &'a WatchArguments,
    session: Session<'a>,
    folders: Folders,
    settling: Settling,
    files: Vec<PathBuf>,
    server: Option<Server>,
    writer: Writer,
    say: Sender<Event>,
    revision: u64,
    data: Bytes,
    error: Option<String>,
    unwritten: Option<String>,
}

impl Running<'_> {
    fn go_on(mut self, heard: &Receiver<Event>) -> Result<u8> {
        // Files whose content was not checked yet, and when they are looked at again.
        let mut touched: Vec<PathBuf> = Vec::new();
        let mut again: Option<Instant> = None;
        let mut tries = 0;
        let mut since = Instant::now();
        loop {
            let now = Instant::now();
            let idle = self.settling.idle(now);
            let wait = again.map_or(idle, |a| idle.min(a.saturating_duration_since(now)));
            let mut event = match heard.recv_timeout(wait) {
                Ok(event) => Some(event),
                Err(RecvTimeoutError::Timeout) => None,
                Err(RecvTimeoutError::Disconnected) => break,
            };
            let mut wishes = Vec::new();
            while let Some(e) = event {
                match e {
                    Event::Stop => return self.end(),
                    Event::Seen(Seen::Lost) => self.settling.lost(Instant::now()),
                    Event::Seen(Seen::File(path, sign)) => {
                        since = Instant::now();
                        self.settling.heard(&path, sign, since);
                    }
                    Event::Wish(wish) => wishes.push(wish),
                    Event::Unwritten(e) => self.complain_unwritten(&e)?,
                }
                event = heard.try_recv().ok();
            }
            for wish in wishes {
                self.fulfil(wish)?;
            }
            let now = Instant::now();
            if self.settling.look(now) {
                self.folders.renew();
                since = now;
            }
            let settled = self.settling.take(now);
            let is_due = again.is_some_and(|a| a <= now);
            if settled.is_empty() && !is_due {
                continue;
            }
            if !settled.is_empty() {
                tries = 0;
            }
            touched.extend(settled);
            again = None;
            let sure = TELLS_CLOSING || tries > 0;
            match self.caught(|s| s.look(&touched, sure, since)) {
                Ok(Looked::New) => {
                    touched.clear();
                    self.error = None;
                    self.new_result()?;
                    self.say_result()?;
                    self.follow()?;
                }
                Ok(Looked::Same) => {
                    touched.clear();
                    self.error = None;
                    self.show();
                    self.print(&terminal::unchanged())?;
                }
                Ok(Looked::Moving) => {
                    again = Some(now + if sure { AGAIN } else { BROKEN_AFTER });
                    tries += 1;
                }
                // It may be on its way still.
                Err(_) if tries == 0 => {
                    again = Some(since + BROKEN_AFTER);
                    tries = 1;
                }
                Err(e) => self.complain(&e),
            }
        }
        self.end()
    }

    /// A fault of the program itself is told like a broken file, and the next save has another chance.
    fn caught<T>(&mut self, work: impl FnOnce(&mut Session<'_>) -> Result<T>) -> Result<T> {
        std::panic::catch_unwind(AssertUnwindSafe(|| work(&mut self.session))).unwrap_or_else(|_| {
            Err(Error::new(
                "a fault of the program itself; please report it with the files",
            ))
        })
    }

    fn fulfil(&mut self, wish: Wish) -> Result<()> {
        match wish {
            Wish::Pin => {
                self.session.pin();
                self.renew_data()?;
                self.show();
                self.print(&terminal::pinned(self.session.pinned_number()))
            }
            Wish::Place => match self.caught(|s| s.place(Instant::now())) {
                Ok(Looked::New) => {
                    self.new_result()?;
                    self.say_result()
                }
                Ok(_) => Ok(()),
                Err(e) => {
                    self.complain(&e);
                    Ok(())
                }
            },
        }
    }

    /// Shows a new result, then has its files written.
    fn new_result(&mut self) -> Result<()> {
        self.renew_data()?;
        self.show();
        if let Some(last) = &self.session.last {
            self.writer.write(last.clone());
        }
        Ok(())
    }

    fn renew_data(&mut self) -> Result<()> {
        if !self.arguments.no_serve {
            self.revision += 1;
            self.data = self.session.data(self.revision)?.into();
        }
        Ok(())
    }

    fn show(&self) {
        if let Some(server) = &self.server {
            server.show(self.board());
        }
    }

    fn board(&self) -> Board {
        let name = self.session.last.as_ref().map(|l| title(&l.checked.report));
        let state = State {
            error: self.error.as_deref(),
            unwritten: self.unwritten.as_deref(),
            number: self.session.last.as_ref().map_or(0, |l| l.number),
        };
        let pictures = self.session.pictures().all();
        Board {
            revision: self.revision,
            page: page_of(&name.unwrap_or_default(), b"", &self.data).into(),
            data: self.data.clone(),
            // Words and numbers: these can be written.
            state: serde_json::to_vec(&state).unwrap_or_default().into(),
            pictures: pictures
                .map(|(name, kind, bytes)| (name.to_string(), kind, Bytes::copy_from_slice(bytes)))
                .collect(),
        }
    }

    /// Another setup may name other files.
    fn follow(&mut self) -> Result<()> {
        let files = self.session.files();
        if files != self.files {
            self.folders = folders(&self.session, &files, &self.say)?;
            self.settling.follow(&files);
            self.files = files;
        }
        Ok(())
    }

    fn complain(&mut self, error: &Error) {
        let text = error.to_string();
        if self.error.as_ref() != Some(&text) {
            anstream::eprintln!("drawntrue: {text}; the last good result stays");
        }
        self.error = Some(text);
        self.show();
    }

    fn complain_unwritten(&mut self, error: &Error) -> Result<()> {
        let text = error.to_string();
        anstream::eprintln!("drawntrue: {text}");
        self.unwritten = Some(text);
        self.show();
        Ok(())
    }

    fn style() -> Style {
        if std::io::stdout().is_terminal() && std::env::var_os("NO_COLOR").is_none() {
            Style::Colour
        } else {
            Style::Plain
        }
    }

    fn print(&self, line: &str) -> Result<()> {
        if self.arguments.check.quiet {
            return Ok(());
        }
        super::print(&format!("{line}\n"))
    }

    fn say_result(&self) -> Result<()> {
        let Some(last) = &self.session.last else {
            return Ok(());
        };
        let line = terminal::one_line(
            &last.checked.report,
            last.number,
            last.since_save.as_ref(),
            last.took,
            Self::style(),
        );
        self.print(&line)
    }

    /// Where the page is, what keys there are, and the first result.
    fn greet(&self) -> Result<()> {
        if let Some(server) = &self.server {
            let url = server.url();
            self.print(&format!("the page is at {url}"))?;
            if self.arguments.open {
                open(&url);
            }
        }
        self.print("f and Enter: fresh placement; p and Enter: pin this version; Ctrl-C: stop")?;
        self.say_result()
    }

    fn end(self) -> Result<u8> {
        drop(self.server);
        self.writer.finish()?;
        Ok(EXIT_WITHIN)
    }
}

/// Opens an address in the user's browser, by the system's own way.
fn open(url: &str) {
    let (program, first): (&str, &[&str]) = if cfg!(target_os = "macos") {
        ("open", &[])
    } else if cfg!(windows) {
        ("cmd", &["/C", "start", ""])
    } else {
        ("xdg-open", &[])
    };
    use std::process::{Command, Stdio};
    let started = Command::new(program)
        .args(first)
        .arg(url)
        .stdin(Stdio::null())
        .stdout(Stdio::null())
        .stderr(Stdio::null())
        .spawn();
    match started {
        // Its end is nobody's business, but it must be asked for.
        Ok(mut child) => drop(std::thread::spawn(move || child.wait())),
        Err(e) => anstream::eprintln!("drawntrue: the browser cannot be opened ({e}); open {url} in it"),
    }
}
