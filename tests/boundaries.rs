//! The way of the data: which folder may use which. What measures knows no files, no colours, no terminal.

use std::path::{Path, PathBuf};

/// Folder, and what it must not use.
const FORBIDDEN: [(&str, &[&str]); 14] = [
    (
        "fit",
        &[
            "sheet", "place", "compare", "check", "audit", "repair", "setup", "report", "arms", "anatomy",
            "cli",
        ],
    ),
    (
        "watch",
        &[
            "mesh",
            "silhouette",
            "profile",
            "sheet",
            "place",
            "compare",
            "check",
            "audit",
            "repair",
            "smooth",
            "arms",
            "anatomy",
            "setup",
            "cli",
        ],
    ),
    (
        "smooth",
        &[
            "silhouette",
            "profile",
            "sheet",
            "place",
            "compare",
            "check",
            "audit",
            "repair",
            "setup",
            "report",
            "cli",
        ],
    ),
    (
        "arms",
        &[
            "sheet", "place", "compare", "check", "audit", "repair", "setup", "report", "cli",
        ],
    ),
    (
        "anatomy",
        &[
            "mesh", "limbs", "sheet", "place", "compare", "check", "audit", "repair", "setup", "report",
            "cli",
        ],
    ),
    (
        "limbs",
        &[
            "silhouette",
            "profile",
            "sheet",
            "place",
            "compare",
            "check",
            "audit",
            "repair",
            "report",
            "cli",
        ],
    ),
    (
        "audit",
        &[
            "silhouette",
            "profile",
            "sheet",
            "place",
            "compare",
            "check",
            "repair",
            "report",
            "cli",
        ],
    ),
    (
        "repair",
        &[
            "silhouette",
            "profile",
            "sheet",
            "place",
            "compare",
            "check",
            "report",
            "cli",
        ],
    ),
    (
        "mesh",
        &[
            "silhouette",
            "profile",
            "sheet",
            "place",
            "compare",
            "check",
            "report",
            "cli",
        ],
    ),
    (
        "profile",
        &[
            "mesh",
            "silhouette",
            "sheet",
            "place",
            "compare",
            "check",
            "report",
            "cli",
        ],
    ),
    (
        "silhouette",
        &["sheet", "place", "compare", "check", "report", "cli"],
    ),
    (
        "sheet",
        &["mesh", "silhouette", "place", "compare", "check", "report", "cli"],
    ),
    ("place", &["mesh", "compare", "check", "report", "cli"]),
    ("report", &["cli", "mesh::obj", "sheet::decode"]),
];

/// What measures uses of `report` its plain values only.
const MEASURING: &str = "compare";

fn sources(folder: &Path) -> Vec<PathBuf> {
    let mut out = Vec::new();
    for entry in std::fs::read_dir(folder).expect("a folder of sources").flatten() {
        let path = entry.path();
        if path.is_dir() {
            out.extend(sources(&path));
        } else if path.extension().is_some_and(|e| e == "rs") {
            out.push(path);
        }
    }
    out
}

/// Lines of code, comments left out: they may refer to what they must not use.
fn code(path: &Path) -> Vec<String> {
    let text = std::fs::read_to_string(path).expect("a source file");
    text.lines()
        .map(|l| l.split("//").next().unwrap_or_default().to_string())
        .collect()
}

#[test]
fn data_flows_one_way() {
    let root = Path::new(env!("CARGO_MANIFEST_DIR")).join("src");
    let mut wrong = Vec::new();
    let mut seen = 0;
    for (folder, forbidden) in FORBIDDEN {
        for path in sources(&root.join(folder)) {
            seen += 1;
            for line in code(&path) {
                let uses = |name: &&&str| {
                    line.split("crate::").skip(1).any(|rest| {
                        rest.strip_prefix(**name)
                            .is_some_and(|r| !r.starts_with(|c: char| c.is_alphanumeric() || c == '_'))
                    })
                };
                if let Some(name) = forbidden.iter().find(uses) {
                    wrong.push(format!("{} uses {name}: {}", path.display(), line.trim()));
                }
            }
        }
    }
    for path in sources(&root.join(MEASURING)) {
        seen += 1;
        for line in code(&path) {
            let other = line.contains("crate::report::") && !line.contains("crate::report::model");
            if other
                || ["crate::sheet::", "crate::cli", "std::fs", "std::io"]
                    .iter()
                    .any(|n| line.contains(n))
            {
                wrong.push(format!(
                    "{} uses what does not measure: {}",
                    path.display(),
                    line.trim()
                ));
            }
        }
    }
    assert!(seen > 20, "the sources were not found");
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
}
