//! Every way of writing an OBJ file that is understood, and every fault that is named.
//!
//! Source of the syntax: from memory, except where a test names another.

use drawntrue::mesh::Mesh;
use drawntrue::mesh::obj::{Limits, read, read_file};

const SQUARE: &str = "v 0 0 0\nv 1 0 0\nv 1 1 0\nv 0 1 0\n";

fn mesh(text: impl AsRef<[u8]>) -> Mesh {
    read(text.as_ref(), Limits::default()).unwrap()
}

fn error(text: impl AsRef<[u8]>) -> String {
    let message = read(text.as_ref(), Limits::default()).unwrap_err().to_string();
    assert!(!message.contains(char::is_control), "one line: {message}");
    message
}

/// The mesh of the square with these statements behind its vertices.
fn square(rest: &str) -> Mesh {
    mesh(format!("{SQUARE}{rest}"))
}

fn names(mesh: &Mesh) -> Vec<(&str, std::ops::Range<usize>)> {
    mesh.group_runs()
        .map(|run| (mesh.groups()[run.group].name.as_str(), run.faces))
        .collect()
}

#[test]
fn all_ways_to_write_a_square_read_alike() {
    let expected = square("f 1 2 3 4\n");
    assert_eq!(
        expected.positions(),
        [[0., 0., 0.], [1., 0., 0.], [1., 1., 0.], [0., 1., 0.]]
    );
    assert_eq!(expected.face(0), [0, 1, 2, 3]);
    let faces = [
        "f 1 2 3 4",
        "f 1/2 2/2 3/2 4/2\n",
        "f 1//1 2//2 3//3 4//4\n",
        "f 1/2/3 2/3/4 3/4/5 4/5/6\n",
        "f -4 -3 -2 -1\n",
        "f -4/-1/-1 -3/-1/-1 -2/-1/-1 -1/-1/-1\n",
        "f 1 -3 3 -1\n",
        "f 1/ 2/ 3/ 4/\n",
        "f 1// 2// 3// 4//\n",
        "\t f\t1  2\t3 \t4 \t\n",
        "f 1 2 3 4 # a comment f 5 6 7\n",
        "f 1 2 3 4# close\n",
        "f 1 2 \\\n 3 4\n",
        "f 1 2 \\\r\n 3 4\r\n",
        "f\\\n1 2 3 4\n",
        "f 1 2\\\n3 4\n",
        "f 01 002 3 4\n",
        "l 1 2\np 1\nvt 0\nvn 1 0 0\ns off\nusemtl skin\nmtllib a b.mtl\ncurv 0 1 \\\n0 1\nf 1 2 3 4\n",
        "# C:\\textures\\\nf 1 2 3 4\n",
        "mtllib C:\\\nf 1 2 3 4\n",
        "vt 1 x\nvp 1\n\n\n  \nf 1 2 3 4\n\n\n",
        "fo 1 2\nfx\nvv 1\nf 1 2 3 4\n#",
    ];
    for face in faces {
        assert_eq!(square(face), expected, "{face:?}");
    }
    let vertices = [
        "v 0 0 0 1\nv 1 0 0 1 0.5 0.5 0.5\nv 1 1 0 0.5 0.5 0.5\nv 0 1 0 nan\n",
        "  v   -0.0e0 .0 0.\n\tv +1 0e9 0E-9\nv 10e-1 0.1e1 0\nv 0 1.000 0\n",
        "v 0 0 0 # a\nv 1 0 0 # b\nv 1 1 0 #\nv 0 1 0 #c\n",
        "v 0 \\\n0 0\nv\\\n1 0 0\nv 1 1 0\nv 0 1\\\n0\n",
    ];
    for vertices in vertices {
        let got = mesh(format!("{vertices}f 1 2 3 4\n"));
        assert_eq!(got, expected, "{vertices:?}");
    }
    let text = format!("# head\n{SQUARE}f 1 2 3 4\n");
    assert_eq!(mesh(text.replace('\n', "\r\n")), expected);
    assert_eq!(mesh(text.replace('\n', "\r")), expected);
    assert_eq!(mesh(text.replace('\n', " \t\r\n")), expected);
    assert_eq!(mesh(format!("\u{feff}{SQUARE}f 1 2 3 4\n")), expected);
    assert_eq!(
        mesh([b"# \xff\xfe caf\xe9\n", text.as_bytes()].concat()),
        expected
    );
}

#[test]
fn faces_may_stand_before_their_vertices_and_vertices_may_be_unused() {
    let ahead = mesh(format!("f 4 3 1\nv 9 9 9\n{}", &SQUARE[8..]));
    assert_eq!(ahead.face(0), [3, 2, 0]);
    assert_eq!(ahead.positions()[0], [9., 9., 9.]);
    let unused = square("v 7 7 7\nf 1 2 3\nv 8 8 8\nf -5 -4 -3\n");
    assert_eq!(unused.positions().len(), 6);
    assert_eq!(unused.face(1), [1, 2, 3]);
}

#[test]
fn n_gons_and_repeated_corners_stay() {
    let ring: String = (0..100).map(|i| format!("v {i} {} 0\n", i * i)).collect();
    let corners: String = (1..=100).map(|i| format!(" {i}")).collect();
    assert_eq!(
        mesh(format!("{ring}f{corners}\n")).face(0),
        (0..100).collect::<Vec<u32>>()
    );
    assert_eq!(square("f 1 1 2 2\n").face(0), [0, 0, 1, 1]);
}

#[test]
fn a_face_belongs_to_the_last_group_or_object() {
    let f = "f 1 2 3\n";
    let text =
        format!("{f}o body\ng arm  left \n{f}{f}g leg # right\n{f}o Finger #2\n{f}g arm  left\n{f}g\n{f}");
    let grouped = square(&text);
    let expected = [
        ("default", 0..1),
        ("arm  left", 1..3),
        ("leg", 3..4),
        ("Finger #2", 4..5),
        ("arm  left", 5..6),
        ("default", 6..7),
    ];
    assert_eq!(names(&grouped), expected);
    assert_eq!(
        grouped.groups().len(),
        4,
        "a name that comes again is the same group; one without faces is none"
    );
    assert_eq!(
        names(&square(&format!("g a \\\n b\\\nc\n{f}"))),
        [("a b c", 0..1)]
    );
    let latin = mesh([SQUARE.as_bytes(), b"g caf\xe9\nf 1 2 3\n"].concat());
    assert_eq!(names(&latin), [("caf\u{fffd}", 0..1)]);
}

#[test]
fn faults_of_single_lines_are_named_with_their_line() {
    for (rest, line, part) in [
        ("f 1 2\n", 5, "a face has 2 corners"),
        ("\n\nf\n", 7, "a face has 0 corners"),
        ("f 1 2 # 3\n", 5, "a face has 2 corners"),
        ("f 0 1 2\n", 5, "vertex 0"),
        ("f -0 1 2\n", 5, "vertex 0"),
        ("f 1 2 3\nf 1 2 5\n", 6, "vertex 5, but there are 4"),
        (
            "f 1 2 3\n\nf 1 2 4294967295\n",
            7,
            "vertex 4294967295, but there are 4",
        ),
        ("f 1 2 4294967296\n", 5, "vertex 4294967296, but there are 4"),
        ("f 1 2 4294967297\n", 5, "4294967297"),
        ("f 1 2 99999999999999999999999999\n", 5, "does not exist"),
        (
            "f 1 2 3\nf -5 -1 -2\nv 0 0 0\n",
            6,
            "counts back beyond the first vertex",
        ),
        ("f -1 -2 -99999999999\n", 5, "does not exist"),
        ("f 1 2 x\n", 5, "\"x\" is not a corner"),
        ("f 1 2 3.5\n", 5, "\"3.5\" is not a corner"),
        ("f 1 2 3/a\n", 5, "\"3/a\" is not a corner"),
        ("f 1 2 3/1/1/1\n", 5, "is not a corner"),
        ("f 1 2 /3\n", 5, "is not a corner"),
        ("f 1 2 3-4\n", 5, "is not a corner"),
        ("f 1 2 3 -\n", 5, "is not a corner"),
        ("f 1/-/2 2 3\n", 5, "is not a corner"),
        ("v 1 2\nf 1 2 3\n", 5, "2 of its three coordinates"),
        ("v\n", 5, "0 of its three coordinates"),
        ("v 1 2 # 3\n", 5, "2 of its three coordinates"),
        ("v 1 2 nan\n", 5, "not a finite number"),
        ("v inf 2 3\n", 5, "not a finite number"),
        ("v 1 -Infinity 3\n", 5, "not a finite number"),
        ("v 1 2 1e999\n", 5, "not a finite number"),
        ("v 1 2 -1.#IND\n", 5, "not a finite number"),
        ("v 1 2,5 3\n", 5, "write decimals with a point"),
        ("v 1 2 three\n", 5, "\"three\" is not a number"),
        ("v 1 2 \u{1b}[31m\n", 5, "\"?[31m\" is not a number"),
        (
            "v 1 2 aaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaa\n",
            5,
            "\"aaaaaaaaaaaaaaaaaaaaaaaa…\"",
        ),
    ] {
        for end in ["\n", "\r\n", "\r"] {
            let message = error(format!("{SQUARE}{rest}").replace('\n', end));
            assert!(
                message.starts_with(&format!("line {line}: ")) && message.contains(part),
                "{rest:?}: {message}"
            );
            assert!(message.contains("; "), "an advice follows: {message}");
        }
    }
}

#[test]
fn files_that_break_off_are_told() {
    for rest in [
        "f 1 2",
        "f 1 2 3 4\nf 1",
        "f",
        "f 1 2 3 -",
        "f 1/1 2/2 3/3 4/",
        "f 1/1/1 2/2/2 3/3",
        "f 1//1 2//2 3",
        "v 1 2",
        "v 1 2 -",
        "v 1 2 3e",
    ] {
        let message = error(format!("{SQUARE}{rest}"));
        assert!(message.contains("breaks off"), "{rest:?}: {message}");
    }
    let message = error(format!("{SQUARE}f 1 2 3 4\nf 4 3 2 1\nf 1 2 3"));
    assert!(
        message.starts_with("line 7: the file breaks off within its last face"),
        "{message}"
    );
    assert!(message.contains("add a line end"), "{message}");
    // Nothing speaks against these.
    assert_eq!(square("f 1 2 3 4\nf 1 2 3\nf 2 3 4").face_count(), 3);
    assert_eq!(square("f 1 2 3 4\nf 1 2 3\n").face_count(), 2);
    assert_eq!(square("f 1 2 3 4\nf 1 2 3 # end").face_count(), 2);
    assert_eq!(square("f 1 2 3").face_count(), 1);
    let message = error(SQUARE);
    assert!(
        message.contains("4 vertices and no faces") && message.contains("cut off"),
        "{message}"
    );
}

#[test]
fn files_that_are_no_mesh_are_told_apart() {
    for (bytes, part) in [
        (&b""[..], "empty"),
        (b" \r\n\t\n", "empty"),
        (b"\xef\xbb\xbf", "empty"),
        (b"\x89PNG\r\n\x1a\n\0\0\0\rIHDR", "PNG"),
        (b"\xff\xd8\xff\xe0\0\x10JFIF", "JPEG"),
        (b"PK\x03\x04\x14\0\0\0", "ZIP"),
        (b"glTF\x02\0\0\0", "glTF"),
        (b"\xff\xfev\0 \x001\0", "UTF-16"),
        (b"ply\nformat ascii 1.0\n", "PLY"),
        (b"solid cube\n facet normal 0 0 1\n", "STL"),
        (b"OFF\n3 1 0\n0 0 0\n", "OFF"),
        (b"newmtl skin\nKd 1 1 1\n", "material"),
        (b"<!doctype html><p>not found", "web page"),
        (b"  {\"asset\": {\"version\": \"2.0\"}}", "JSON"),
        (b"some words\nand more\n", "neither vertices nor faces"),
        (b"\x01\x02\0\x03", "binary data"),
    ] {
        let message = error(bytes);
        assert!(message.contains(part), "{part}: {message}");
    }
}

#[test]
fn too_many_faces_are_refused() {
    let text = format!("{SQUARE}{}", "f 1 2 3\n".repeat(10));
    let limited = |max_faces| read(text.as_bytes(), Limits { max_faces });
    assert_eq!(limited(10).unwrap().face_count(), 10);
    assert!(
        limited(9)
            .unwrap_err()
            .to_string()
            .contains("the mesh has 10 faces, more than the limit of 9")
    );
    assert!(
        limited(0)
            .unwrap_err()
            .to_string()
            .contains("more than the limit of 0")
    );
}

#[test]
fn files_that_cannot_be_read_are_named() {
    let folder = tempfile::tempdir().unwrap();
    let limits = Limits::default();
    let missing = read_file(&folder.path().join("none.obj"), limits)
        .unwrap_err()
        .to_string();
    assert!(
        missing.contains("none.obj: there is no such file; check the path"),
        "{missing}"
    );
    let dir = read_file(folder.path(), limits).unwrap_err().to_string();
    assert!(dir.contains("this is a folder"), "{dir}");
    let path = folder.path().join("bad.obj");
    std::fs::write(&path, format!("{SQUARE}f 1 2 9\n")).unwrap();
    let bad = read_file(&path, limits).unwrap_err().to_string();
    assert!(bad.contains("bad.obj: line 5: a face names vertex 9"), "{bad}");
    std::fs::write(&path, format!("{SQUARE}f 1 2 3\n")).unwrap();
    assert_eq!(read_file(&path, limits).unwrap(), square("f 1 2 3\n"));
}
