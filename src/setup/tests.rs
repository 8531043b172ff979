//! A setup that is written is read as it was meant, complaints name the line and the nearest key.

use proptest::prelude::*;

use super::*;

fn found() -> Found {
    Found {
        file: "drawings/hero \"final\".png".to_string(),
        threshold: 31,
        widest_gap: 2.5,
        views: vec![FoundView {
            name: "front".to_string(),
            box_px: [10.0, 20.5, 300.0, 900.0],
            confidence: 0.87,
            warnings: vec!["outline open near x 12,\ny 40".to_string()],
        }],
        guides: vec![FoundGuide { y_px: 812.25 }],
        areas: vec![FoundArea {
            place: [100.0, 400.0],
            ground: true,
        }],
        ..Found::default()
    }
}

#[test]
fn what_is_written_is_read() {
    let text = write(&found());
    let file = SetupFile::parse(&text).expect("a setup");
    assert_eq!(file.text, text);
    let image = &file.setup.images[0];
    assert_eq!(image.file, PathBuf::from("drawings/hero \"final\".png"));
    assert_eq!(image.threshold, Some(31));
    assert_eq!(image.widest_gap, Some(2.5));
    assert_eq!(image.ground, [[100.0, 400.0]]);
    assert!(image.surface.is_empty() && image.erase.is_empty());
    assert_eq!(image.views[0].box_px, [10.0, 20.5, 300.0, 900.0]);
    assert_eq!(image.guides[0].y_px, 812.25);
    assert_eq!(file.setup.tolerance, Some(1.0));
    assert_eq!(file.setup.figure_height, None);
}

#[test]
fn a_second_image_is_put_behind_the_first() {
    let text = write(&found()) + &append(&found());
    assert_eq!(SetupFile::parse(&text).expect("a setup").setup.images.len(), 2);
}

fn complaint(text: &str) -> String {
    SetupFile::parse(text).expect_err("a complaint").to_string()
}

#[test]
fn complaints_name_line_and_nearest_key() {
    let message = complaint("unit = \"cm\"\ntolerence = 2\n");
    assert!(
        message.starts_with("line 2:") && message.contains("did you mean tolerance?"),
        "{message}"
    );
    let message = complaint("[mesh]\nup = \"y\"\n\n[[image]]\nfile = \"a.png\"\nlineedge = \"outer\"\n");
    assert!(
        message.starts_with("line 6:") && message.contains("line-edge"),
        "{message}"
    );
    let message = complaint("\n\ntolerance = \"much\"\n");
    assert!(
        message.starts_with("line 3:") && message.contains("a number above zero"),
        "{message}"
    );
    let message = complaint("[[image]]\nfile = \"a.png\"\nerase = [[5, 5, 1, 9]]\n");
    assert!(message.starts_with("line 3:"), "{message}");
    let message = complaint("[[image]]\nshows = \"sheet\"\n");
    assert!(
        message.starts_with("line 1:") && message.contains("file"),
        "{message}"
    );
    let message = complaint("unit = cm\n");
    assert!(
        message.starts_with("line 1:") && !message.contains('\n'),
        "{message}"
    );
    for odd in [
        "image = 3",
        "mesh = []",
        "[[mesh]]",
        "tolerance = nan",
        "tolerance = -1",
        "[image]\nfile = \"a\"",
    ] {
        assert!(!complaint(odd).contains('\n'));
    }
}

#[test]
fn paths_are_relative_to_the_file() {
    let folder = tempfile::tempdir().expect("a folder");
    let path = folder.path().join("hero.toml");
    std::fs::write(&path, "[[image]]\nfile = \"art/hero.png\"\n").expect("written");
    let file = SetupFile::read(&path).expect("a setup");
    assert_eq!(file.setup.images[0].file, folder.path().join("art/hero.png"));
}

proptest! {
    /// Comments, order, blanks and line ends of the person's are kept; what is said stays said.
    #[test]
    fn read_and_written_again_is_the_same(
        comment in "[ -~äß名]{0,40}",
        blank in 0usize..4,
        tolerance in 0.01f64..50.0,
        file in "[^\\p{C}\"\\\\]{1,30}",
        boxes in proptest::collection::vec((0.0f64..5e3, 0.0f64..5e3, 1.0f64..5e3, 1.0f64..5e3), 0..4),
        windows in any::<bool>(),
    ) {
        let boxes: Vec<[f64; 4]> = boxes.iter().map(|(x, y, w, h)| [*x, *y, x + w, y + h]).collect();
        let mut text = format!("# {comment}\n{}tolerance = {tolerance:?} # {comment}\n", "\n".repeat(blank));
        text += &format!("[[image]]\nfile = '''{file}'''\nerase = {boxes:?}\n");
        text += &append(&found());
        if windows {
            text = text.replace('\n', "\r\n");
        }
        prop_assume!(!file.contains('\''));
        let first = SetupFile::parse(&text).expect("a setup");
        prop_assert_eq!(first.setup.tolerance, Some(tolerance));
        prop_assert_eq!(&first.setup.images[0].erase, &boxes);
        let again = SetupFile::parse(&first.text).expect("a setup");
        prop_assert_eq!(&again.text, &text);
        prop_assert_eq!(again, first);
    }

    /// Whatever the text, there is an answer in one line.
    #[test]
    fn any_text_is_read_or_refused(text in "\\PC{0,200}") {
        if let Err(e) = SetupFile::parse(&text) {
            prop_assert!(!e.to_string().contains('\n'));
        }
    }
}

#[test]
fn placement_axes_and_stage_are_read() {
    let text = "scale = 0.14\nground = -1\nhold-placement = true\ntolerance-width = 8\nstage = \"block-in\"\n\
                [mesh]\nup = \"z\"\nfacing = \"-x\"\n[[image]]\nfile = \"a.png\"\nshows = \"top\"\n";
    let setup = SetupFile::parse(text).expect("a setup").setup;
    assert_eq!((setup.scale, setup.ground), (Some(0.14), Some(-1.0)));
    assert_eq!(
        (setup.hold_placement, setup.tolerance_width),
        (Some(true), Some(8.0))
    );
    assert_eq!(setup.stage, Some(Stage::BlockIn));
    assert_eq!(
        (setup.mesh.up, setup.mesh.facing),
        (Some(UpAxis::Z), Some(Heading::MinusX))
    );
    assert_eq!(setup.images[0].shows, Shows::Top);
    assert!(complaint("stage = \"last\"\n").contains("block-in"));
    assert!(complaint("[mesh]\nfacing = \"up\"\n").contains("-x"));
    // As it is first written, nothing is overruled: axes and scale are found.
    let first = SetupFile::parse(&write(&found())).expect("a setup").setup;
    assert_eq!((first.scale, first.ground, first.mesh.up), (None, None, None));
}
