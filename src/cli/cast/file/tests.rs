//! What a cast's file may say, and what is said of mistakes.

use super::*;
use crate::report::model::ArmsMode;

fn cast(text: &str) -> Result<Vec<Character>> {
    parse(text, Path::new("show"), &Typed::default(), Path::new("results"))
}

#[track_caller]
fn refused(text: &str, expected: &[&str]) {
    let said = cast(text).err().expect("refused").to_string();
    assert!(
        expected.iter().all(|e| said.contains(e)) && !said.contains('\n'),
        "{said}"
    );
}

#[test]
fn characters_have_their_own_options_and_those_of_all() {
    let all = cast(
        "stage = \"refine\"\nunit = \"cm\"\nunfinished = true\n[[character]]\nname = \"Ana\"\nmesh = \"a.obj\"\nsheet = \"a.png\"\n\
         figure-height = 178\nskip-groups = [\"hair\", \"cloak, long\"]\n[[character]]\nname = \"Bo Lind\"\nmesh = \"/far/b.glb\"\n\
         front = \"f.png\"\nside = \"s.png\"\nunit = \"m\"\nunfinished = false\narms = -10\ncanon = \"segments\"\n",
    )
    .expect("a cast");
    let [ana, bo] = &all[..] else {
        panic!("two characters")
    };
    let a = &ana.arguments;
    assert_eq!(
        (ana.name.as_str(), &a.mesh),
        ("Ana", &PathBuf::from("show/a.obj"))
    );
    assert_eq!(a.out, PathBuf::from("results/Ana"));
    assert_eq!(a.sheet, Some("show/a.png".into()));
    assert_eq!(
        (a.figure_height, a.unit.as_deref(), a.unfinished),
        (Some(178.0), Some("cm"), true)
    );
    assert_eq!(a.skip_groups[0], "hair");
    let b = &bo.arguments;
    assert_eq!(
        (&b.mesh, &b.out),
        (&PathBuf::from("/far/b.glb"), &PathBuf::from("results/Bo Lind"))
    );
    assert_eq!(
        (&b.front, &b.side),
        (&Some("show/f.png".into()), &Some("show/s.png".into()))
    );
    assert_eq!(
        (b.unit.as_deref(), b.unfinished, b.stage),
        (Some("m"), false, a.stage)
    );
    assert_eq!(
        (b.arms, b.canon.as_deref()),
        (Some(ArmsMode::Degrees(-10.0)), Some("segments"))
    );
}

#[test]
fn mistakes_name_the_line_and_the_nearest_key() {
    let one =
        |lines: &str| format!("[[character]]\nname = \"Ana\"\nmesh = \"a.obj\"\nsheet = \"a.png\"\n{lines}");
    refused("", &["the cast has no characters"]);
    refused("[[character]\n", &["line 1"]);
    refused(
        &one("tolerence = 1"),
        &["line 5", "there is no key tolerence", "did you mean tolerance?"],
    );
    refused(
        &one("tolerance = -1"),
        &["line 5", "Ana", "--tolerance", "a number above zero"],
    );
    refused(
        &one("tolerance = true"),
        &["line 5", "tolerance needs a text or a number"],
    );
    refused(
        &one("unfinished = 1"),
        &["line 5", "unfinished needs true or false"],
    );
    refused(&one("arms = \"up\""), &["line 5", "as-modelled, drop, ignore"]);
    refused(
        &one("scale = 1\nfigure-height = 2"),
        &["Ana", "cannot be used with"],
    );
    refused(&one("out = \"x\""), &["line 5", "there is no key out"]);
    refused("mesh = \"a.obj\"\n", &["line 1", "there is no key mesh"]);
    refused(
        "[[character]]\nmesh = \"a.obj\"\n",
        &["line 1", "name is missing here"],
    );
    refused(
        "[[character]]\nname = \"A\"\nsheet = \"a.png\"\n",
        &["line 1", "A has no mesh"],
    );
    refused(
        "[[character]]\nname = \"A\"\nmesh = \"a.obj\"\n",
        &["line 1", "A has no drawing"],
    );
    let twice = format!("{}{}", one(""), one("").replace("Ana", "ANA"));
    refused(&twice, &["line 6", "two characters are called ANA", "line 2"]);
}

/// Names that leave the folder, that hide, or that some system keeps for itself.
#[test]
fn names_that_no_folder_can_have_are_refused() {
    for name in [
        "",
        ".",
        "..",
        "../up",
        "a/b",
        "a\\\\b",
        ".hidden",
        "-rf",
        "a.",
        "a ",
        " a",
        "nul",
        "Com1.x",
        "a:b",
        "what?",
        "a\\u0007",
        "cast.html",
        "LINEUP.png",
    ] {
        let text = format!("[[character]]\nname = \"{name}\"\nmesh = \"a.obj\"\nsheet = \"a.png\"\n");
        refused(&text, &["line 2", "cannot be a folder's name"]);
    }
    for name in ["Ana", "née Ωmega", "T-800 (old)", "名前", "a.b", "console"] {
        let text = format!("[[character]]\nname = \"{name}\"\nmesh = \"a.obj\"\nsheet = \"a.png\"\n");
        assert_eq!(cast(&text).expect("a name").len(), 1, "{name}");
    }
}
