//! The made files of the demo: the cage with its faults, and the sheet of the figure without them.

use crate::{faults, figure, sheet};

/// Names and contents.
pub(crate) type Files = Vec<(&'static str, Vec<u8>)>;

/// Makes both files.
///
/// # Errors
/// If the picture cannot be encoded, in words.
pub(crate) fn made() -> Result<Files, String> {
    let on_model = figure::on_model();
    let off_model = faults::off_model(&on_model);
    let head = [
        "Tamsel Wick, lamp trimmer: quad cage in T-pose, y up, facing +z, centimetres.",
        "Off model on purpose in three places, see README.md. Made by examples/make_refs.",
    ];
    Ok(vec![
        ("tamsel.obj", off_model.to_obj("tamsel", &head).into_bytes()),
        ("tamsel-sheet.png", sheet::png(&on_model)?),
    ])
}
