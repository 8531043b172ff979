//! What a setup says of an arm: its joint, where it points, what belongs to it.

use crate::arms::Told;
use crate::error::{Error, Result};
use crate::mesh::Mesh;
use crate::mesh::select::{self, Choice};
use crate::mesh::vector::{Vector, mean};
use crate::setup::Setup;

/// One arm. Places are those of the upright mesh, y up and facing z; vertices count from 0 in the order of the file.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct ArmSetup {
    /// The character's left arm.
    pub left: bool,
    /// The shoulder's joint.
    pub joint: Option<Vector>,
    /// Or the group whose middle it is: a ball that was put there.
    pub joint_group: Option<String>,
    /// Or the vertices whose middle it is: a ring around it.
    pub joint_vertices: Vec<u32>,
    /// Where the upper arm points, from the joint outwards.
    pub axis: Option<Vector>,
    /// The group that the arm is.
    pub group: Option<String>,
    /// Or its vertices.
    pub vertices: Vec<u32>,
}

impl Setup {
    /// What is said of the left and of the right arm of a mesh.
    ///
    /// # Errors
    /// There is no such group or vertex.
    pub fn told(&self, mesh: &Mesh) -> Result<[Told; 2]> {
        let mut out: [Told; 2] = Default::default();
        for arm in &self.arm {
            let told = &mut out[usize::from(!arm.left)];
            let by_vertices = match &arm.joint_group {
                Some(name) => group(mesh, name)?,
                None => checked(mesh, &arm.joint_vertices)?,
            };
            let middle = || mean(by_vertices.iter().map(|&v| mesh.positions()[v as usize]));
            told.shoulder = arm.joint.or_else(|| (!by_vertices.is_empty()).then(middle));
            told.axis = arm.axis;
            told.vertices = match &arm.group {
                Some(name) => group(mesh, name)?,
                None => checked(mesh, &arm.vertices)?,
            };
        }
        Ok(out)
    }
}

/// The vertices of a group's faces, ascending.
fn group(mesh: &Mesh, name: &str) -> Result<Vec<u32>> {
    let choice = Choice {
        groups: vec![name.to_string()],
        skip_groups: Vec::new(),
    };
    let part = select::choose(mesh.clone(), &choice).map_err(|e| e.at("[[arm]] in the setup"))?;
    checked(mesh, part.corners())
}

/// Vertices that are there, ascending and once each.
fn checked(mesh: &Mesh, vertices: &[u32]) -> Result<Vec<u32>> {
    let mut all = vertices.to_vec();
    all.sort_unstable();
    all.dedup();
    match all.last() {
        Some(&v) if v as usize >= mesh.positions().len() => Err(Error::new(format!(
            "vertex {v} does not exist, there are {}",
            mesh.positions().len()
        ))
        .at("[[arm]] in the setup")
        .advise("vertices count from 0 in the order of the file")),
        _ => Ok(all),
    }
}
