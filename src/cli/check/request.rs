//! What a check is asked for: arguments and setup together, and a digest of all that its results depend on.

use std::path::Path;

use super::{CheckArguments, Image};
use crate::compare::canons::Canon;
use crate::error::{Error, Result};
use crate::mesh::formats;
use crate::open::{bytes, digest};
use crate::report::model::{Program, Settings};
use crate::setup::{Setup, SetupFile};

/// Arguments with their setup read.
pub(in crate::cli) struct Request<'a> {
    pub(in crate::cli) arguments: &'a CheckArguments,
    pub(super) file: Option<SetupFile>,
    pub(super) setup: Setup,
    pub(super) settings: Settings,
    pub(super) images: Vec<Image>,
}

impl<'a> Request<'a> {
    /// Reads the setup file, if one is given.
    pub(in crate::cli) fn new(arguments: &'a CheckArguments) -> Result<Self> {
        let file = arguments.setup.as_deref().map(SetupFile::read).transpose()?;
        let setup = file.as_ref().map(|f| f.setup.clone()).unwrap_or_default();
        let images = arguments.images(&setup)?;
        for (i, image) in images.iter().enumerate() {
            if images[..i].iter().any(|other| other.path == image.path) {
                return Err(Error::new("the same image is given for two views")
                    .in_file(&image.path)
                    .advise("give each view its own image, or use --sheet"));
            }
        }
        Ok(Self {
            settings: arguments.settings(&setup),
            arguments,
            file,
            setup,
            images,
        })
    }

    /// The files that are read, which no result may replace.
    pub(in crate::cli) fn inputs(&self) -> Vec<&Path> {
        let images = self.images.iter().map(|i| i.path.as_path());
        images
            .chain([self.arguments.mesh.as_path()])
            .chain(self.arguments.setup.as_deref())
            .collect()
    }

    /// Digest of the request, told the digests of mesh and images.
    pub(super) fn digest_with<'b>(
        &self,
        mesh: &str,
        images: impl Iterator<Item = &'b str>,
    ) -> Result<String> {
        // What changes neither numbers nor pictures takes no part. A new option does until it is named here.
        let options = CheckArguments {
            out: "".into(),
            version_name: None,
            no_history: false,
            landmarks: false,
            quiet: false,
            ..self.arguments.clone()
        };
        let mut text = format!("{}\n{options:?}\n{mesh}\n", Program::this().version);
        let mut add = |line: &str| {
            text.push_str(line);
            text.push('\n');
        };
        images.for_each(&mut add);
        if let Some(file) = &self.file {
            add(&digest(file.text.as_bytes()));
        }
        if let Some(name) = &self.settings.canon
            && Canon::named(name).is_none()
        {
            add(&digest(&bytes::table(Path::new(name))?));
        }
        for path in formats::files_beside(&self.arguments.mesh) {
            let most = self.arguments.meshes.max_faces;
            add(&bytes::mesh(&path, most).map_or_else(|_| "none".to_string(), |b| digest(&b)));
        }
        Ok(digest(text.as_bytes()))
    }

    /// The same of the files as they are now.
    pub(in crate::cli) fn digest(&self) -> Result<String> {
        let mesh = digest(&self.arguments.meshes.read(&self.arguments.mesh)?);
        let images = self
            .images
            .iter()
            .map(|i| Ok(digest(&self.arguments.pictures.read(&i.path)?)))
            .collect::<Result<Vec<_>>>()?;
        self.digest_with(&mesh, images.iter().map(String::as_str))
    }
}
