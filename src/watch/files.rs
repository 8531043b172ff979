//! When a file that somebody saves is whole.
//!
//! Method: the folder of every file is watched, not the file, so that a file that is replaced by renaming another is seen
//! too. A file that was renamed into its place is whole. One that is written in place is whole when its writer closes it,
//! which Linux tells; elsewhere, and where a writer keeps it open, when it has been quiet for a while. Besides, every file
//! is looked at once a second, for folders on other machines whose changes nobody tells. Whether what is there can be
//! read decides in the end: who reads compares the file's [`Stamp`] before and after.

use std::ffi::OsString;
use std::path::{Path, PathBuf};
use std::time::{Duration, Instant, SystemTime};

use notify::event::{AccessKind, AccessMode, EventKind, ModifyKind};
use notify::{RecommendedWatcher, RecursiveMode, Watcher as _};

use crate::error::{Error, Result};

/// From a close or a renaming on it is waited so long for more of the same burst. By trial: programs that write several
/// files take a millisecond or two between them.
const QUIET_CLOSED: Duration = Duration::from_millis(8);
/// Where nothing tells that a writer is done it is waited so long. By trial: two thirds of the time allowed are left.
const QUIET_UNTOLD: Duration = Duration::from_millis(60);
/// A file that stays open is taken as whole after so long without a write.
const STILL_OPEN: Duration = Duration::from_millis(1500);
/// A change that only looking found may be one of many: it is waited until so long nothing changes any more.
const QUIET_FOUND: Duration = Duration::from_millis(300);
/// A file that cannot be read, or is not there, may be on its way for so long.
pub const BROKEN_AFTER: Duration = Duration::from_millis(400);
/// How often files are looked at without a sign.
const LOOK_EVERY: Duration = Duration::from_secs(1);

/// Whether this system tells that a writer has closed a file.
pub const TELLS_CLOSING: bool = cfg!(any(target_os = "linux", target_os = "android"));

/// What tells one state of a file from another.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct Stamp(Option<(u64, Option<SystemTime>, u64)>);

impl Stamp {
    /// A file's; the same for all files that are not there.
    pub fn of(path: &Path) -> Self {
        let Ok(data) = std::fs::metadata(path) else {
            return Self(None);
        };
        #[cfg(unix)]
        let number = std::os::unix::fs::MetadataExt::ino(&data);
        #[cfg(not(unix))]
        let number = 0;
        Self(Some((data.len(), data.modified().ok(), number)))
    }
}

/// What was seen of a file.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Sign {
    /// Something is written, or it went away.
    Touched,
    /// Its writer closed it.
    Closed,
    /// Another file was renamed into its place.
    Placed,
}

/// A file that is watched.
#[derive(Debug)]
struct Watched {
    path: PathBuf,
    /// As it was when it was looked at last.
    stamp: Stamp,
    /// Since when it is quiet, and how long it must be.
    settling: Option<(Instant, Duration)>,
}

/// Which files have settled. Keeps no time of its own: every call says what time it is.
#[derive(Debug)]
pub struct Settling {
    files: Vec<Watched>,
    looked: Instant,
}

impl Settling {
    /// Files as they are now.
    pub fn new(paths: &[PathBuf], now: Instant) -> Self {
        let mut made = Self {
            files: Vec::new(),
            looked: now,
        };
        made.follow(paths);
        made
    }

    /// From now on these files; what is known of those that stay is kept.
    pub fn follow(&mut self, paths: &[PathBuf]) {
        self.files.retain(|f| paths.contains(&f.path));
        for path in paths {
            if self.files.iter().all(|f| f.path != *path) {
                self.files.push(Watched {
                    path: path.clone(),
                    stamp: Stamp::of(path),
                    settling: None,
                });
            }
        }
    }

    /// A sign of a file.
    pub fn heard(&mut self, path: &Path, sign: Sign, now: Instant) {
        let Some(file) = self.files.iter_mut().find(|f| f.path == path) else {
            return;
        };
        let wait = match sign {
            Sign::Closed | Sign::Placed => QUIET_CLOSED,
            Sign::Touched if TELLS_CLOSING => STILL_OPEN,
            Sign::Touched => QUIET_UNTOLD,
        };
        file.settling = Some((now, wait));
    }

    /// Every file may have changed: signs were lost.
    pub fn lost(&mut self, now: Instant) {
        for file in &mut self.files {
            file.settling = Some((now, QUIET_FOUND));
        }
    }

    /// Looks at the files themselves once in a while; whether one changed without a sign.
    pub fn look(&mut self, now: Instant) -> bool {
        if now.duration_since(self.looked) < LOOK_EVERY {
            return false;
        }
        self.looked = now;
        let mut found = false;
        for file in self.files.iter_mut().filter(|f| f.settling.is_none()) {
            if Stamp::of(&file.path) != file.stamp {
                file.settling = Some((now, QUIET_FOUND));
                found = true;
            }
        }
        found
    }

    /// How long nothing has to be done.
    pub fn idle(&self, now: Instant) -> Duration {
        let due = self.files.iter().filter_map(|f| f.settling).map(|(t, w)| t + w);
        // A file that is written to holds the others back: they were saved together.
        let due = due.max().unwrap_or(self.looked + LOOK_EVERY);
        due.saturating_duration_since(now)
    }

    /// The files that have changed, if all of them have settled. They are then taken as looked at.
    pub fn take(&mut self, now: Instant) -> Vec<PathBuf> {
        let moving = self
            .files
            .iter()
            .any(|f| f.settling.is_some_and(|(t, w)| now < t + w));
        if moving {
            return Vec::new();
        }
        let mut out = Vec::new();
        for file in &mut self.files {
            let Some((_, wait)) = file.settling else {
                continue;
            };
            let stamp = Stamp::of(&file.path);
            // Found by looking, and still growing.
            if wait == QUIET_FOUND && stamp != file.stamp {
                file.stamp = stamp;
                file.settling = Some((now, wait));
                return Vec::new();
            }
            file.stamp = stamp;
            file.settling = None;
            out.push(file.path.clone());
        }
        out
    }
}

/// What was seen, for whoever waits.
#[derive(Debug)]
pub enum Seen {
    /// A sign of a file.
    File(PathBuf, Sign),
    /// Signs were lost.
    Lost,
}

/// Watches the folders of files.
pub struct Folders {
    watcher: RecommendedWatcher,
    folders: Vec<PathBuf>,
}

/// A path as the system tells it: its folder without links, and its name.
fn told(path: &Path) -> Option<(PathBuf, OsString)> {
    let folder = match path.parent() {
        Some(p) if !p.as_os_str().is_empty() => p,
        _ => Path::new("."),
    };
    Some((folder.canonicalize().ok()?, path.file_name()?.to_os_string()))
}

impl Folders {
    /// Watches the folders of `paths` and hands on what is seen of them. Files that a link leads to are watched too, and
    /// all files `beside` a path whose names end so.
    ///
    /// # Errors
    /// The system has no more room for watching.
    pub fn new(
        paths: &[PathBuf],
        beside: Option<(&Path, &'static str)>,
        mut hand: impl FnMut(Seen) + Send + 'static,
    ) -> Result<Self> {
        let mut known: Vec<(PathBuf, OsString, PathBuf)> = Vec::new();
        for path in paths {
            let target = path.canonicalize().ok();
            for place in [Some(path.clone()), target].into_iter().flatten() {
                if let Some((folder, name)) = told(&place)
                    && known.iter().all(|k| (&k.0, &k.1) != (&folder, &name))
                {
                    known.push((folder, name, path.clone()));
                }
            }
        }
        let mut folders: Vec<PathBuf> = known.iter().map(|k| k.0.clone()).collect();
        folders.sort();
        folders.dedup();
        let beside = beside.and_then(|(path, ending)| Some((told(path)?.0, ending, path.to_path_buf())));
        let handler = move |event: notify::Result<notify::Event>| {
            let Ok(event) = event else {
                hand(Seen::Lost);
                return;
            };
            if event.need_rescan() {
                hand(Seen::Lost);
            }
            let sign = match event.kind {
                EventKind::Access(AccessKind::Close(AccessMode::Write)) => Sign::Closed,
                // What is read is no change.
                EventKind::Access(_) => return,
                EventKind::Modify(ModifyKind::Name(_)) => Sign::Placed,
                _ => Sign::Touched,
            };
            for path in &event.paths {
                let (folder, name) = (path.parent(), path.file_name());
                let of = known
                    .iter()
                    .find(|(f, n, _)| folder == Some(f) && name == Some(n))
                    .map(|k| &k.2);
                let part = beside.as_ref().filter(|(f, ending, _)| {
                    folder == Some(f) && path.extension().is_some_and(|e| e == *ending)
                });
                if let Some(path) = of.or(part.map(|b| &b.2)) {
                    hand(Seen::File(path.clone(), sign));
                }
            }
        };
        let watcher = notify::recommended_watcher(handler)
            .map_err(|e| Error::new(format!("files cannot be watched ({e})")))?;
        let mut made = Self {
            watcher,
            folders: Vec::new(),
        };
        for folder in &folders {
            made.watcher
                .watch(folder, RecursiveMode::NonRecursive)
                .map_err(|e| Error::new(format!("the folder cannot be watched ({e})")).in_file(folder))?;
        }
        made.folders = folders;
        Ok(made)
    }

    /// Watches the folders anew: one may have been put in the place of another.
    pub fn renew(&mut self) {
        for folder in &self.folders {
            // What is not there any more is looked at by itself.
            let _ = self.watcher.unwatch(folder);
            let _ = self.watcher.watch(folder, RecursiveMode::NonRecursive);
        }
    }
}

#[cfg(test)]
mod tests {
    use std::fs;
    use std::sync::mpsc::channel;

    use super::*;

    fn ms(n: u64) -> Duration {
        Duration::from_millis(n)
    }

    #[test]
    fn a_closed_file_settles_and_an_open_one_does_not() {
        let folder = tempfile::tempdir().expect("a folder");
        let path = folder.path().join("a.obj");
        fs::write(&path, "x").expect("written");
        let start = Instant::now();
        let mut settling = Settling::new(std::slice::from_ref(&path), start);
        assert!(settling.take(start).is_empty());
        // Written for a second, bit by bit, and then closed.
        for k in 0..10 {
            settling.heard(&path, Sign::Touched, start + ms(100 * k));
            assert!(settling.take(start + ms(100 * k + 50)).is_empty());
        }
        settling.heard(&path, Sign::Closed, start + ms(1000));
        assert!(settling.take(start + ms(1001)).is_empty());
        assert_eq!(settling.idle(start + ms(1001)), ms(7));
        assert_eq!(settling.take(start + ms(1008)), [path.clone()]);
        assert!(settling.take(start + ms(1009)).is_empty());
        // A writer that never closes.
        settling.heard(&path, Sign::Touched, start + ms(2000));
        let wait = if TELLS_CLOSING { STILL_OPEN } else { QUIET_UNTOLD };
        assert_eq!(settling.take(start + ms(2000) + wait), [path]);
    }

    #[test]
    fn files_that_are_saved_together_are_taken_together() {
        let folder = tempfile::tempdir().expect("a folder");
        let [a, b] = ["a.obj", "b.toml"].map(|n| folder.path().join(n));
        let start = Instant::now();
        let mut settling = Settling::new(&[a.clone(), b.clone()], start);
        settling.heard(&a, Sign::Placed, start);
        settling.heard(&b, Sign::Closed, start + ms(5));
        assert!(settling.take(start + ms(9)).is_empty());
        assert_eq!(settling.take(start + ms(13)), [a, b]);
    }

    /// A change that no sign told of is found, once it has stopped.
    #[test]
    fn what_nobody_told_is_found() {
        let folder = tempfile::tempdir().expect("a folder");
        let path = folder.path().join("a.obj");
        let start = Instant::now();
        let mut settling = Settling::new(std::slice::from_ref(&path), start);
        assert!(!settling.look(start + ms(1000)));
        fs::write(&path, "x").expect("written");
        assert!(!settling.look(start + ms(1500)), "not yet time to look");
        assert!(settling.look(start + ms(2000)));
        // Seen for the first time, so it may still grow.
        assert!(settling.take(start + ms(2300)).is_empty());
        fs::write(&path, "longer").expect("written");
        assert!(settling.take(start + ms(2600)).is_empty());
        assert_eq!(settling.take(start + ms(2900)), [path]);
        assert!(!settling.look(start + ms(4000)));
    }

    /// Every way of saving ends in a sign that the file is whole, for the name that was asked for; other files are nobody's
    /// business.
    #[test]
    fn every_way_of_saving_is_seen() {
        let folder = tempfile::tempdir().expect("a folder");
        let real = folder.path().join("real.obj");
        fs::write(&real, "x").expect("written");
        let elsewhere = tempfile::tempdir().expect("a folder");
        let path = elsewhere.path().join("link.obj");
        #[cfg(unix)]
        std::os::unix::fs::symlink(&real, &path).expect("a link");
        #[cfg(not(unix))]
        fs::write(&path, "x").expect("written");
        let (say, heard) = channel();
        let _folders =
            Folders::new(std::slice::from_ref(&path), None, move |s| drop(say.send(s))).expect("watched");
        let wait = |wanted: Sign| loop {
            match heard.recv_timeout(Duration::from_secs(10)).expect("a sign") {
                Seen::File(p, s) if s == wanted || !TELLS_CLOSING => {
                    assert_eq!(p, path);
                    break;
                }
                _ => {}
            }
        };
        let target = if cfg!(unix) { &real } else { &path };
        fs::write(folder.path().join("other.obj"), "y").expect("written");
        fs::write(target, "in place").expect("written");
        wait(Sign::Closed);
        let new = folder.path().join("new.tmp");
        fs::write(&new, "by renaming").expect("written");
        fs::rename(&new, target).expect("renamed");
        wait(Sign::Placed);
        std::thread::sleep(ms(50));
        assert!(
            heard
                .try_iter()
                .all(|s| matches!(s, Seen::File(p, _) if p == path))
        );
    }
}
