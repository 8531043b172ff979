//! What a check is asked for: arguments and setup together, and a digest of all that its results depend on.

use std::path::{Path, PathBuf};

use super::{CheckArguments, Image};
use crate::compare::canons::Canon;
use crate::error::{Error, Result};
use crate::mesh::formats;
use crate::open::{self, bytes, digest};
use crate::report::model::{Program, Settings, SetupInput};
use crate::setup::{Setup, SetupFile};

/// What is to be checked, by the command line and the setup file.
pub(in crate::cli) struct Case {
    pub(in crate::cli) settings: Settings,
    pub(in crate::cli) setup: Setup,
    pub(in crate::cli) images: Vec<Image>,
    pub(super) setup_input: Option<SetupInput>,
    pub(super) canon: Option<Canon>,
    /// Options that change a result, and where the mesh lies.
    options: String,
    mesh: PathBuf,
    max_faces: usize,
}

impl CheckArguments {
    /// Reads the setup file, and says what is to be checked.
    pub(in crate::cli) fn case(&self) -> Result<Case> {
        let file = self.setup.as_deref().map(SetupFile::read).transpose()?;
        let setup = file.as_ref().map(|f| f.setup.clone()).unwrap_or_default();
        let settings = self.settings(&setup);
        let images = self.images(&setup)?;
        for (i, image) in images.iter().enumerate() {
            if images[..i].iter().any(|other| other.path == image.path) {
                return Err(Error::new("the same image is given for two views")
                    .in_file(&image.path)
                    .advise("give each view its own image, or use --sheet"));
            }
        }
        let canon = settings.canon.as_deref().map(open::canon).transpose()?;
        // What changes neither numbers nor pictures takes no part. A new option does until it is named here.
        let options = Self {
            out: PathBuf::new(),
            version_name: None,
            no_history: false,
            landmarks: false,
            quiet: false,
            ..self.clone()
        };
        Ok(Case {
            settings,
            setup,
            images,
            setup_input: self.setup.as_ref().zip(file).map(|(path, f)| SetupInput {
                path: path.display().to_string(),
                sha256: digest(f.text.as_bytes()),
            }),
            canon,
            options: format!("{options:?}"),
            mesh: self.mesh.clone(),
            max_faces: self.meshes.max_faces,
        })
    }

    /// The files that are read, none of which is ever written to.
    pub(in crate::cli) fn inputs<'a>(&'a self, case: &'a Case) -> Vec<&'a Path> {
        let images = case.images.iter().map(|i| i.path.as_path());
        images
            .chain([self.mesh.as_path()])
            .chain(self.setup.as_deref())
            .collect()
    }

    /// Digest of the request with the files as they are now.
    pub(in crate::cli) fn request(&self, case: &Case) -> Result<String> {
        let mesh = digest(&self.meshes.read(&self.mesh)?);
        let images = case
            .images
            .iter()
            .map(|i| Ok(digest(&self.pictures.read(&i.path)?)))
            .collect::<Result<Vec<_>>>()?;
        case.request(&mesh, images.iter().map(String::as_str))
    }
}

impl Case {
    /// Digest of the request, told the digests of mesh and images.
    pub(super) fn request<'b>(&self, mesh: &str, images: impl Iterator<Item = &'b str>) -> Result<String> {
        let mut text = format!("{}\n{}\n{mesh}\n", Program::this().version, self.options);
        let mut add = |line: &str| {
            text.push_str(line);
            text.push('\n');
        };
        images.for_each(&mut add);
        if let Some(file) = &self.setup_input {
            add(&file.sha256);
        }
        if let Some(name) = &self.settings.canon
            && Canon::named(name).is_none()
        {
            add(&digest(&bytes::table(Path::new(name))?));
        }
        for path in formats::files_beside(&self.mesh) {
            add(&bytes::mesh(&path, self.max_faces).map_or_else(|_| "none".to_string(), |b| digest(&b)));
        }
        Ok(digest(text.as_bytes()))
    }
}
