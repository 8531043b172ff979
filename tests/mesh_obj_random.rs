//! Random meshes written in random styles read back as they were; large files read the same in pieces; no
//! bytes make the reader panic.

use std::fmt::Write;

use drawntrue::mesh::obj::{Limits, read};
use drawntrue::mesh::{Group, Mesh};
use proptest::collection::vec;
use proptest::prelude::*;
use proptest::sample::select;

/// How a file is written.
#[derive(Debug, Clone)]
struct Style {
    line_end: &'static str,
    blank: &'static str,
    comment: &'static str,
    mark: bool,
    attributes: usize,
    faces_first: bool,
    backwards: bool,
    exponents: bool,
    extra: &'static str,
    folded: bool,
}

fn style() -> impl Strategy<Value = Style> {
    let spelling = (
        select(vec!["\n", "\r\n", "\r"]),
        select(vec![" ", "  ", "\t", " \t "]),
        select(vec!["", " # f 1 2 3", "  #"]),
        any::<bool>(),
        0..4_usize,
    );
    let order = (
        any::<bool>(),
        any::<bool>(),
        any::<bool>(),
        select(vec!["", " 1", " 0.1 0.2 0.3"]),
        any::<bool>(),
    );
    (spelling, order).prop_map(|((line_end, blank, comment, mark, attributes), order)| {
        let (faces_first, backwards, exponents, extra, folded) = order;
        Style {
            line_end,
            blank,
            comment,
            mark,
            attributes,
            faces_first,
            backwards,
            exponents,
            extra,
            folded,
        }
    })
}

/// Any finite double.
fn coordinate() -> impl Strategy<Value = f64> {
    prop_oneof![
        any::<u64>()
            .prop_map(f64::from_bits)
            .prop_filter("finite", |c| c.is_finite()),
        -1000.0..1000.0_f64,
        (-1000..1000_i32).prop_map(|i| f64::from(i) / 100.0),
    ]
}

fn random_mesh() -> impl Strategy<Value = Mesh> {
    vec([coordinate(), coordinate(), coordinate()], 3..40).prop_flat_map(|positions| {
        let corner = 0..positions.len() as u32;
        vec((vec(corner, 3..9), 0..4_u32), 1..40).prop_map(move |faces| assemble(positions.clone(), &faces))
    })
}

fn assemble(positions: Vec<[f64; 3]>, faces: &[(Vec<u32>, u32)]) -> Mesh {
    // Groups are numbered in the order of their first faces, runs are as long as can be.
    let (mut corners, mut starts, mut runs) = (Vec::new(), vec![0], Vec::<(u32, u32)>::new());
    let mut groups: Vec<Group> = Vec::new();
    for (f, (face, part)) in faces.iter().enumerate() {
        let name = format!("part {part}");
        let group = groups.iter().position(|g| g.name == name).unwrap_or_else(|| {
            groups.push(Group { name });
            groups.len() - 1
        }) as u32;
        if runs.last().is_none_or(|run| run.1 != group) {
            runs.push((f as u32, group));
        }
        corners.extend(face);
        starts.push(corners.len() as u32);
    }
    Mesh::new(positions, corners, starts, groups, runs).unwrap()
}

fn write(mesh: &Mesh, style: &Style) -> String {
    let Style {
        line_end,
        blank,
        comment,
        ..
    } = style;
    let mut vertices = String::new();
    for p in mesh.positions() {
        vertices.push('v');
        for c in p {
            // Both spellings are the shortest that read back to the same double.
            let number = if style.exponents {
                format!("{c:e}")
            } else {
                format!("{c}")
            };
            write!(vertices, "{blank}{number}").unwrap();
        }
        write!(vertices, "{}{comment}{line_end}", style.extra).unwrap();
    }
    let mut faces = String::new();
    for run in mesh.group_runs() {
        write!(
            faces,
            "g{blank}{}{blank}{line_end}",
            mesh.groups()[run.group].name
        )
        .unwrap();
        for face in run.faces {
            faces.push('f');
            for (i, &v) in mesh.face(face).iter().enumerate() {
                let index = if style.backwards && !style.faces_first {
                    i64::from(v) - mesh.positions().len() as i64
                } else {
                    i64::from(v) + 1
                };
                let attributes = ["", "/7", "//8", "/7/8"][style.attributes];
                let fold = if style.folded && i == 1 {
                    format!(" \\{line_end}")
                } else {
                    String::new()
                };
                write!(faces, "{fold}{blank}{index}{attributes}").unwrap();
            }
            write!(faces, "{comment}{line_end}").unwrap();
        }
    }
    let mark = if style.mark { "\u{feff}" } else { "" };
    if style.faces_first {
        format!("{mark}{faces}{vertices}")
    } else {
        format!("{mark}{vertices}{faces}")
    }
}

/// Bytes that are more likely to be nearly an OBJ file than random ones.
fn soup() -> impl Strategy<Value = Vec<u8>> {
    let words = vec![
        "v",
        "f",
        "g",
        "o",
        "vt",
        " ",
        " ",
        " ",
        "\t",
        "\n",
        "\n",
        "\r",
        "\r\n",
        "\\",
        "\\\n",
        "#",
        "/",
        "//",
        "-",
        "1",
        "2",
        "3",
        "0",
        "-1",
        "-2",
        "4294967295",
        "4294967296",
        "-2147483648",
        "99999999999999999999",
        "1e9",
        "1.5",
        ".",
        "e",
        "nan",
        "\0",
        "\u{feff}",
        "ä",
        "v 0 0 0\n",
        "v 1 0 0\n",
        "f 1 2 3\n",
        "f -1 -2 -3\n",
    ];
    vec(select(words), 0..60).prop_map(|words| words.concat().into_bytes())
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(1000))]

    #[test]
    fn written_meshes_read_back_identical(mesh in random_mesh(), style in style()) {
        let text = write(&mesh, &style);
        let got = read(text.as_bytes(), Limits::default()).unwrap();
        let bits = |m: &Mesh| m.positions().iter().flatten().map(|c| c.to_bits()).collect::<Vec<_>>();
        prop_assert_eq!(bits(&got), bits(&mesh));
        prop_assert_eq!(got, mesh);
    }

    #[test]
    fn no_bytes_make_the_reader_panic(bytes in vec(any::<u8>(), 0..400)) {
        check(&bytes);
    }

    #[test]
    fn no_words_make_the_reader_panic(bytes in soup()) {
        check(&bytes);
    }

    #[test]
    fn no_cut_makes_the_reader_panic(mesh in random_mesh(), style in style(), part in 0.0..1.0_f64) {
        let text = write(&mesh, &style).into_bytes();
        check(&text[..(text.len() as f64 * part) as usize]);
    }
}

/// Whatever is read keeps the guarantees of a mesh, and whatever is not gives one line.
fn check(bytes: &[u8]) {
    match read(bytes, Limits { max_faces: 20 }) {
        Ok(mesh) => {
            assert!((1..=20).contains(&mesh.face_count()));
            let rebuilt = Mesh::from_polygons(mesh.positions().to_vec(), mesh.faces());
            assert_eq!(rebuilt.unwrap().corners(), mesh.corners());
        }
        Err(error) => assert!(!error.to_string().contains(char::is_control), "{error}"),
    }
}

/// A file of several megabytes, so that it is read in several pieces: strips of vertices and faces in turn,
/// with both kinds of indices, folded lines and changing groups.
fn long_file(end: &str) -> (String, Vec<[f64; 3]>, Vec<Vec<u32>>) {
    let (mut text, mut positions, mut faces) = (String::new(), Vec::new(), Vec::new());
    for i in 0..60_000_u32 {
        for k in 0..2_u32 {
            let p = [f64::from(i) * 0.125, f64::from(k), f64::from(i % 7)];
            write!(
                text,
                "v {} {} {} # {}{end}",
                p[0],
                p[1],
                p[2],
                "x".repeat((i % 50) as usize)
            )
            .unwrap();
            positions.push(p);
        }
        if i > 0 {
            let a = 2 * (i - 1);
            if i % 1000 == 1 {
                write!(text, "g strip{}{end}", i / 20_000).unwrap();
            }
            match i % 3 {
                0 => write!(text, "f {} {} \\{end} {} {}{end}", a + 1, a + 2, a + 4, a + 3).unwrap(),
                1 => write!(text, "f -4 -3 -1 -2{end}").unwrap(),
                _ => write!(text, "f -4//1 {}//1 {}//1 -2//1{end}", a + 2, a + 4).unwrap(),
            }
            faces.push(vec![a, a + 1, a + 3, a + 2]);
        }
    }
    (text, positions, faces)
}

#[test]
fn long_files_read_the_same_whatever_the_threads_and_line_ends() {
    for end in ["\n", "\r\n", "\r"] {
        let (text, positions, faces) = long_file(end);
        assert!(text.len() > 4 << 20, "some pieces: {}", text.len());
        for threads in [1, 2, 5] {
            let pool = rayon::ThreadPoolBuilder::new()
                .num_threads(threads)
                .build()
                .unwrap();
            let mesh = pool.install(|| read(text.as_bytes(), Limits::default())).unwrap();
            assert_eq!(mesh.positions(), positions);
            assert!(mesh.faces().eq(faces.iter().map(Vec::as_slice)));
            let runs: Vec<_> = mesh
                .group_runs()
                .map(|run| (mesh.groups()[run.group].name.clone(), run.faces))
                .collect();
            let expected = [
                ("strip0", 0..20_000),
                ("strip1", 20_000..40_000),
                ("strip2", 40_000..59_999),
            ];
            assert_eq!(runs, expected.map(|(name, faces)| (name.to_string(), faces)));
        }
    }
}

#[test]
fn faults_in_long_files_are_named_with_their_line() {
    for end in ["\n", "\r\n", "\r"] {
        let (text, positions, _) = long_file(end);
        let lines = text.matches(end).count();
        let faults = [
            (
                "f 1 2 999999",
                format!("vertex 999999, but there are {}", positions.len()),
            ),
            ("f 1 2 -999999", "counts back beyond the first vertex".into()),
            ("f 1 x 2", "\"x\" is not a corner".into()),
            ("v 1 2 nan", "not a finite number".into()),
        ];
        for (statement, part) in faults {
            let message = read(
                format!("{text}{statement}{end}{text}").as_bytes(),
                Limits::default(),
            );
            let message = message.unwrap_err().to_string();
            // With the text twice there are twice as many vertices.
            let part = part.replace(&positions.len().to_string(), &(2 * positions.len()).to_string());
            assert!(message.starts_with(&format!("line {}: ", lines + 1)), "{message}");
            assert!(message.contains(&part), "{message}");
        }
    }
}
