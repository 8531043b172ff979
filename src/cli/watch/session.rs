//! A series of checks of one mesh: what is kept from one to the next, and what changed.
//!
//! Kept are the drawing's reading and its pictures, for as long as image and setup stay; the placement, from the first
//! check that can be relied on; the last good result; and the pinned one.

use std::path::{Path, PathBuf};
use std::sync::Arc;
use std::time::{Duration, Instant, SystemTime, UNIX_EPOCH};

use crate::check::{Checked, ImageRead, Settled};
use crate::cli::check::{Case, CheckArguments, Image, image_of, kept_placement};
use crate::error::{Error, Result};
use crate::mesh::formats::Format;
use crate::open::{self, OpenMesh, bytes};
use crate::profile::Outline;
use crate::report::changes::{Changes, Outcome, Version, changes};
use crate::report::overlay::Subject;
use crate::report::page::live::{Before, Live, Pictures, Told, data_of};
use crate::sheet::picture::Picture;
use crate::space::ViewUnits;
use crate::watch::files::Stamp;

/// A mesh file written in place that has become this much smaller may still be growing, where nothing told its end.
const SHRUNK: f64 = 0.6;

/// The drawing as it was read.
pub(super) struct Sheets {
    of: Vec<Image>,
    pub(super) pictures: Vec<Picture>,
    pub(super) images: Vec<ImageRead>,
}

/// A finished check and what later ones compare with.
pub(super) struct Good {
    pub(super) number: usize,
    pub(super) saved: SystemTime,
    /// From the sign of saving, or from the start, to the finished comparison.
    pub(super) took: Duration,
    pub(super) checked: Checked,
    pub(super) sheets: Arc<Sheets>,
    pub(super) inputs: Vec<PathBuf>,
    version: Version,
    outlines: Vec<(String, Outline<ViewUnits>)>,
    /// What changed since the check before.
    pub(super) since_save: Option<Changes>,
    held: bool,
}

impl Good {
    fn subjects(&self) -> Vec<Subject<'_>> {
        let subject = |(view, shown): (usize, _)| {
            let shown: &crate::check::Shown = shown;
            Subject {
                report: &self.checked.report,
                view,
                shown,
                picture: &self.sheets.pictures[shown.image],
                reading: &self.sheets.images[shown.image].reading,
            }
        };
        self.checked.views.iter().enumerate().map(subject).collect()
    }
}

/// What looking at the files gave.
pub(super) enum Looked {
    /// A new result.
    New,
    /// All files hold what they held.
    Same,
    /// Some file changed while it was read, or is likely to be still written.
    Moving,
}

/// A series of checks.
pub(super) struct Session<'a> {
    arguments: &'a CheckArguments,
    case: Case,
    mesh: Option<Arc<OpenMesh>>,
    mesh_bytes: usize,
    sheets: Option<Arc<Sheets>>,
    pictures: Pictures,
    settled: Option<Settled>,
    /// A fresh placement was asked for: a kept one does not count.
    fresh: bool,
    pub(super) last: Option<Arc<Good>>,
    /// The one before it.
    before_last: Option<Arc<Good>>,
    pinned: Option<Arc<Good>>,
}

impl<'a> Session<'a> {
    pub(super) fn new(arguments: &'a CheckArguments) -> Result<Self> {
        Ok(Self {
            arguments,
            case: arguments.case()?,
            mesh: None,
            mesh_bytes: 0,
            sheets: None,
            pictures: Pictures::default(),
            settled: None,
            fresh: false,
            last: None,
            before_last: None,
            pinned: None,
        })
    }

    /// The files whose saving matters.
    pub(super) fn files(&self) -> Vec<PathBuf> {
        let canon = self.case.settings.canon.as_ref().map(PathBuf::from);
        let mut out: Vec<PathBuf> = self
            .arguments
            .inputs(&self.case)
            .iter()
            .map(|p| p.to_path_buf())
            .collect();
        out.extend(canon.filter(|c| c.exists()));
        out
    }

    /// A mesh in parts: the ending of the files beside it that hold the rest.
    pub(super) fn beside(&self) -> Option<(&Path, &'static str)> {
        let mesh = self.arguments.mesh.as_path();
        (Format::of_name(mesh) == Some(Format::Gltf)).then_some((mesh, "bin"))
    }

    /// Checks again after some files were touched. `sure`: their writers are done.
    pub(super) fn look(&mut self, touched: &[PathBuf], sure: bool, since: Instant) -> Result<Looked> {
        let is_touched = |path: &Path| touched.iter().any(|t| t == path);
        let setup_touched = self.arguments.setup.as_deref().is_some_and(is_touched);
        let canon_touched = self
            .case
            .settings
            .canon
            .as_deref()
            .is_some_and(|c| is_touched(Path::new(c)));
        let before = self.stamps();
        let case = self.arguments.case()?;
        let mut same = !setup_touched && !canon_touched && self.last.is_some();
        let kept_sheets = self
            .sheets
            .as_ref()
            .filter(|s| s.of == case.images && !case.images.iter().any(|i| is_touched(&i.path)));
        let remeshed = case.settings.groups != self.case.settings.groups
            || case.settings.skip_groups != self.case.settings.skip_groups
            || case.settings.mirror != self.case.settings.mirror
            || case.settings.axes() != self.case.settings.axes()
            || case.settings.smooth != self.case.settings.smooth;
        let kept_mesh = self
            .mesh
            .as_ref()
            .filter(|_| !remeshed && !is_touched(&self.arguments.mesh));
        let (mesh, sheets) = rayon::join(
            || match kept_mesh {
                Some(mesh) => Ok((mesh.clone(), self.mesh_bytes)),
                None => self.read_mesh(&case),
            },
            || match kept_sheets {
                Some(sheets) => Ok(sheets.clone()),
                None => self.read_sheets(&case.images),
            },
        );
        if self.stamps() != before {
            return Ok(Looked::Moving);
        }
        let ((mesh, bytes), sheets) = (mesh?, sheets?);
        if !sure && (bytes as f64) < SHRUNK * self.mesh_bytes as f64 {
            return Ok(Looked::Moving);
        }
        let in_parts = self.beside().is_some() && is_touched(&self.arguments.mesh);
        let known = self
            .mesh
            .as_ref()
            .is_some_and(|m| m.input.sha256 == mesh.input.sha256);
        let drawn = |s: &Sheets| -> Vec<String> { s.images.iter().map(|i| i.input.sha256.clone()).collect() };
        let as_drawn = self
            .sheets
            .as_ref()
            .is_some_and(|s| s.of == sheets.of && drawn(s) == drawn(&sheets));
        same &= known && as_drawn && !in_parts;
        if same {
            return Ok(Looked::Same);
        }
        self.check(case, mesh, bytes, sheets, since)?;
        Ok(Looked::New)
    }

    /// Checks what is known with a placement of its own.
    pub(super) fn place(&mut self, since: Instant) -> Result<Looked> {
        let (Some(mesh), Some(sheets)) = (self.mesh.clone(), self.sheets.clone()) else {
            return Ok(Looked::Same);
        };
        let (settled, fresh) = (self.settled.take(), self.fresh);
        self.fresh = true;
        let case = self.arguments.case()?;
        let done = self.check(case, mesh, self.mesh_bytes, sheets, since);
        if done.is_err() {
            (self.settled, self.fresh) = (settled, fresh);
        }
        done.map(|()| Looked::New)
    }

    /// From now on changes are told from the last result too.
    pub(super) fn pin(&mut self) {
        self.pinned.clone_from(&self.last);
    }

    pub(super) fn pinned_number(&self) -> usize {
        self.pinned.as_ref().map_or(0, |p| p.number)
    }

    fn stamps(&self) -> Vec<Stamp> {
        self.files().iter().map(|p| Stamp::of(p)).collect()
    }

    fn read_mesh(&self, case: &Case) -> Result<(Arc<OpenMesh>, usize)> {
        let (path, wanted) = (&self.arguments.mesh, self.arguments.meshes.wanted());
        let bytes = bytes::mesh(path, wanted.limits.max_faces)?;
        Ok((
            Arc::new(open::mesh_of(&bytes, path, &case.settings, &wanted)?),
            bytes.len(),
        ))
    }

    fn read_sheets(&self, images: &[Image]) -> Result<Arc<Sheets>> {
        let most = self.arguments.pictures.max_pixels;
        let bytes = images
            .iter()
            .map(|i| bytes::picture(&i.path, most))
            .collect::<Result<Vec<_>>>()?;
        // Saved without a change: what was read of it holds.
        if let Some(kept) = self.sheets.as_ref().filter(|s| s.of == images) {
            let same = |(b, i): (&Vec<u8>, &ImageRead)| open::digest(b) == i.input.sha256;
            if bytes.iter().zip(&kept.images).all(same) {
                return Ok(kept.clone());
            }
        }
        let read = images
            .iter()
            .zip(&bytes)
            .map(|(image, bytes)| image_of(bytes, image, self.arguments.pictures))
            .collect::<Result<Vec<_>>>()?;
        let (pictures, read) = read.into_iter().unzip();
        Ok(Arc::new(Sheets {
            of: images.to_vec(),
            pictures,
            images: read,
        }))
    }

    fn check(
        &mut self,
        case: Case,
        mesh: Arc<OpenMesh>,
        bytes: usize,
        sheets: Arc<Sheets>,
        since: Instant,
    ) -> Result<()> {
        let kept = if self.fresh || self.settled.is_some() {
            None
        } else {
            kept_placement(&self.arguments.out, &case.settings)?
        };
        let surface = self.arguments.contact;
        let checked = case.check(
            &mesh,
            &sheets.images,
            kept.as_ref(),
            self.settled.as_ref(),
            surface,
            None,
        )?;
        // Numbers that no output can hold are found before anything is shown.
        crate::report::json::check(&checked.report)?;
        let version = Version::new(Outcome::from(&checked.report));
        let outlines = checked
            .views
            .iter()
            .zip(&checked.report.views)
            .map(|(s, v)| (v.name.clone(), s.mesh.clone()))
            .collect();
        let stamp = std::fs::metadata(&self.arguments.mesh)
            .and_then(|m| m.modified())
            .ok();
        let good = Good {
            number: self.last.as_ref().map_or(1, |l| l.number + 1),
            saved: if self.last.is_some() {
                SystemTime::now()
            } else {
                stamp.unwrap_or_else(SystemTime::now)
            },
            took: since.elapsed(),
            inputs: self
                .arguments
                .inputs(&case)
                .iter()
                .map(|p| p.to_path_buf())
                .collect(),
            since_save: self.last.as_ref().map(|l| changes(&l.version, &version)),
            held: matches!(checked.report.placement.how, crate::report::model::PlacedBy::Held),
            version,
            outlines,
            sheets: sheets.clone(),
            checked,
        };
        // The first one that can be relied on stays.
        self.settled.clone_from(&good.checked.settled);
        self.case = case;
        self.mesh = Some(mesh);
        self.mesh_bytes = bytes;
        self.sheets = Some(sheets);
        let good = Arc::new(good);
        self.before_last = self.last.replace(good.clone());
        self.pinned.get_or_insert(good);
        Ok(())
    }

    /// The page's data; the pictures that they name are made.
    pub(super) fn data(&mut self, revision: u64) -> Result<Vec<u8>> {
        let (Some(last), Some(pinned)) = (&self.last, &self.pinned) else {
            return Err(Error::new("nothing was checked yet"));
        };
        let subjects = last.subjects();
        self.pictures.renew(&subjects)?;
        let since_pin = (pinned.number != last.number).then(|| changes(&pinned.version, &last.version));
        let mut before = Vec::new();
        if let Some(b) = &self.before_last {
            before.push(Before {
                name: "before",
                outlines: &b.outlines,
            });
        }
        if pinned.number != last.number {
            before.push(Before {
                name: "pinned",
                outlines: &pinned.outlines,
            });
        }
        let ms = |t: SystemTime| t.duration_since(UNIX_EPOCH).map_or(0, |d| d.as_millis() as u64);
        data_of(
            &subjects,
            &Live {
                told: Told {
                    revision,
                    number: last.number,
                    saved_ms: ms(last.saved),
                    held: last.held,
                    since_save: last.since_save.clone(),
                    since_pin,
                    pinned: pinned.number,
                    pinned_ms: ms(pinned.saved),
                },
                before: &before,
                pictures: &self.pictures,
            },
        )
    }

    pub(super) fn pictures(&self) -> &Pictures {
        &self.pictures
    }
}
