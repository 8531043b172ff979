//! What a check can tell of a mesh before its drawing is read, so that both can be done at once. It holds as long as the
//! mesh turns out to stand as it is given.

use crate::audit::model::Audit;
use crate::audit::{Options, audit};
use crate::mesh::Mesh;
use crate::report::model::Settings;
use crate::silhouette::{Azimuth, Silhouette, silhouettes};
use crate::smooth::Plan;
use crate::standing::SHOWN;

/// Meshes of more faces are neither audited nor smoothed without being asked for: it would take longer than the rest of
/// the check. They are no cages any more.
pub const MOST_CAGE_FACES: usize = 20_000;
/// Faces that show the limit surface where it is information only: around a limb of sixteen there are 32, whose chords
/// stay within 0.5 % of its radius.
const MOST_LIMIT_FACES: usize = 30_000;

/// What was told of a mesh before its drawing was read.
#[derive(Debug, Clone)]
pub struct Ahead {
    /// Its silhouettes from front, back and both sides; none where the surface that counts is still to be smoothed.
    pub(super) seen: Vec<Silhouette>,
    /// Its audit, of a cage.
    pub(super) audited: Option<Audit>,
    /// Silhouettes of its limit surface from the same sides, of a cage that can be smoothed.
    pub(super) limit: Option<Vec<Silhouette>>,
}

impl Ahead {
    /// Looks at a prepared mesh as [`super::check_with`] will.
    pub fn of(mesh: &Mesh, settings: &Settings) -> Self {
        let cage_decides = settings.smooth.is_none();
        let (seen, (audited, limit)) = rayon::join(
            || {
                if cage_decides {
                    silhouettes(mesh, &SHOWN)
                } else {
                    Vec::new()
                }
            },
            || {
                rayon::join(
                    || audited(mesh, settings),
                    || cage_decides.then(|| limit(mesh, &SHOWN)).flatten(),
                )
            },
        );
        Self { seen, audited, limit }
    }

    /// The silhouettes of the limit surface from some sides, where all of them are known.
    pub(super) fn limit_from(&self, azimuths: &[Azimuth]) -> Option<Vec<Silhouette>> {
        let known = self.limit.as_ref()?;
        let of = |a: &Azimuth| known.iter().find(|s| s.azimuth() == *a).cloned();
        azimuths.iter().map(of).collect()
    }
}

/// The audit of a cage, as far as a check needs it; `None` for what is none any more.
pub(super) fn audited(mesh: &Mesh, settings: &Settings) -> Option<Audit> {
    let options = Options {
        quick: true,
        meant_borders: settings.borders.clone(),
        plane_x: settings.plane,
        ..Options::default()
    };
    (mesh.face_count() <= MOST_CAGE_FACES).then(|| audit(mesh, &options))
}

/// The limit surface of a cage from some sides. What cannot be smoothed is only left out: the cage decides.
pub(super) fn limit(mesh: &Mesh, azimuths: &[Azimuth]) -> Option<Vec<Silhouette>> {
    if mesh.face_count() > MOST_CAGE_FACES {
        return None;
    }
    let plan = Plan::limit(mesh, &[], MOST_LIMIT_FACES);
    let smoothed = plan.and_then(|p| p.mesh(mesh)).ok()?;
    Some(silhouettes(&smoothed, azimuths))
}
