//! The page that is served while somebody models: the same page, told of every further check.
//!
//! What differs from the page in a file: its pictures are asked for by their addresses, so that they travel once, and its
//! policy lets it listen to where it came from. Its data say which check this is and what changed.

use rayon::prelude::*;
use serde::Serialize;
use sha2::{Digest as _, Sha256};

use super::picture::{Cells, Cut, cut, picture, sides};
use super::{data, filled};
use crate::error::Result;
use crate::profile::Outline;
use crate::report::changes::Changes;
use crate::report::overlay::Subject;
use crate::space::ViewUnits;

/// Where pictures are asked for.
pub const PICTURES: &str = "/picture/";
/// Letters of a picture's name: of a digest, enough to tell some dozens apart.
const NAME: usize = 16;

/// What is said of a check besides its report.
#[derive(Debug, Clone, Serialize)]
pub struct Told {
    /// Rises with every change of the data.
    pub revision: u64,
    /// Counts checks from 1.
    pub number: usize,
    /// When the file was saved, milliseconds since 1970.
    pub saved_ms: u64,
    /// The placement is held from an earlier check.
    pub held: bool,
    /// What changed since the check before; `None` for the first one.
    pub since_save: Option<Changes>,
    /// What changed since the pinned check.
    pub since_pin: Option<Changes>,
    /// The pinned check's number.
    pub pinned: usize,
    /// When that was saved.
    pub pinned_ms: u64,
}

/// The mesh's outlines in an earlier check.
#[derive(Clone, Copy)]
pub struct Before<'a> {
    /// The key under which the page finds it: `before` or `pinned`.
    pub name: &'static str,
    /// For each view by its name.
    pub outlines: &'a [(String, Outline<ViewUnits>)],
}

/// All that a served page is told.
pub struct Live<'a> {
    /// Which check this is, and what changed.
    pub told: Told,
    /// Earlier outlines.
    pub before: &'a [Before<'a>],
    /// The drawing's pictures.
    pub pictures: &'a Pictures,
}

/// A picture that is kept.
struct Kept {
    of: Key,
    name: String,
    cut: Cut,
}

/// What a picture was made from: the image by its digest, the part that is shown, how far it is reduced, and the other
/// figures' boxes, which take no part in finding the paper.
#[derive(PartialEq)]
struct Key(String, Cells, usize, Vec<[u64; 4]>);

/// The pictures of the views, made once for as long as the drawing stays.
#[derive(Default)]
pub struct Pictures(Vec<Kept>);

fn key(subject: &Subject<'_>, side: usize) -> Option<Key> {
    let image = subject.report.inputs.sheets.get(subject.shown.image)?;
    let boxes = subject.report.sheet.views.iter();
    let boxes = boxes.map(|v| v.box_px.map(f64::to_bits)).collect();
    Some(Key(image.sha256.clone(), cut(subject)?, side, boxes))
}

impl Pictures {
    /// Makes what is missing and drops what is not shown any more.
    ///
    /// # Errors
    /// A picture cannot be encoded.
    pub fn renew(&mut self, subjects: &[Subject<'_>]) -> Result<()> {
        let sides = sides(subjects);
        let wanted: Vec<Option<Key>> = subjects.iter().zip(&sides).map(|(s, n)| key(s, *n)).collect();
        self.0.retain(|k| wanted.iter().flatten().any(|w| *w == k.of));
        let missing: Vec<_> = subjects
            .iter()
            .zip(&sides)
            .zip(wanted)
            .filter_map(|((s, n), k)| Some((s, *n, k?)))
            .filter(|(_, _, k)| self.0.iter().all(|kept| kept.of != *k))
            .collect();
        let made = missing
            .into_par_iter()
            .map(|(s, side, of)| {
                Ok(picture(s, side)?.map(|cut| {
                    let digest = Sha256::digest(&cut.bytes);
                    let name = digest.iter().map(|b| format!("{b:02x}")).collect::<String>();
                    Kept {
                        of,
                        name: name[..NAME].to_string(),
                        cut,
                    }
                }))
            })
            .collect::<Result<Vec<_>>>()?;
        self.0.extend(made.into_iter().flatten());
        Ok(())
    }

    /// The picture of a view, and its address.
    pub(super) fn of(&self, subject: &Subject<'_>) -> Option<(&Cut, String)> {
        let image = subject.report.inputs.sheets.get(subject.shown.image)?;
        let cells = cut(subject)?;
        let kept = self
            .0
            .iter()
            .find(|k| k.of.0 == image.sha256 && k.of.1 == cells)?;
        Some((&kept.cut, format!("{PICTURES}{}", kept.name)))
    }

    /// All of them: name, media type and bytes.
    pub fn all(&self) -> impl Iterator<Item = (&str, &'static str, &[u8])> {
        self.0
            .iter()
            .map(|k| (k.name.as_str(), k.cut.kind, k.cut.bytes.as_slice()))
    }
}

/// The data of a check, as the page is handed them.
///
/// # Errors
/// A number is not finite.
pub fn data_of(subjects: &[Subject<'_>], live: &Live<'_>) -> Result<Vec<u8>> {
    data::served(subjects, live)
}

/// The page around some data; its policy stands in it.
pub fn page_of(title: &str, plain: &[u8], data: &[u8]) -> Vec<u8> {
    filled(title, plain, data, true)
}
