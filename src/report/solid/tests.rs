//! Bodies whose picture is known.

use super::*;

const WINDOW: Window = Window {
    width: 120,
    height: 120,
    zero: (60.0, 60.0),
    scale: 40.0,
};

/// A ball of radius 1 of so many rings.
fn ball(rings: u32) -> Mesh {
    let mut positions = Vec::new();
    let mut faces: Vec<[u32; 4]> = Vec::new();
    let around = 2 * rings;
    for i in 0..=rings {
        let polar = std::f64::consts::PI * f64::from(i) / f64::from(rings);
        for j in 0..around {
            let turn = std::f64::consts::TAU * f64::from(j) / f64::from(around);
            let (s, c) = turn.sin_cos();
            positions.push([polar.sin() * s, polar.cos(), polar.sin() * c]);
            if i < rings {
                let next = (j + 1) % around;
                faces.push([
                    i * around + j,
                    (i + 1) * around + j,
                    (i + 1) * around + next,
                    i * around + next,
                ]);
            }
        }
    }
    Mesh::from_polygons(positions, faces).expect("a ball")
}

/// The covered pixels add up to the disc's area, π r² (Euclid XII.2; Archimedes), to within a tenth of a percent.
#[test]
fn coverage_is_the_area() {
    let shaded = Body::new(&ball(60), Azimuth::FRONT).shade(&WINDOW, 2.0);
    let area: f32 = (0..120 * 120).map(|i| shaded.at(i % 120, i / 120).1).sum();
    let disc = std::f64::consts::PI * 40.0 * 40.0;
    assert!((f64::from(area) / disc - 1.0).abs() < 0.002, "{area} {disc}");
}

/// Lambert 1760: light falls with the cosine. The key stands at the upper left, so a ball is brightest there, and every
/// way from the brightest place grows darker.
#[test]
fn a_ball_is_bright_towards_the_key() {
    let shaded = Body::new(&ball(60), Azimuth::FRONT).shade(&WINDOW, 2.0);
    let brightness = |x: usize, y: usize| shaded.at(x, y).0[1];
    let (mut best, mut at) = (0.0, (0, 0));
    for y in 0..120 {
        for x in 0..120 {
            if shaded.at(x, y).1 > 0.99 && brightness(x, y) > best {
                (best, at) = (brightness(x, y), (x, y));
            }
        }
    }
    assert!(at.0 < 55 && at.1 < 50, "{at:?}");
    assert!(brightness(60, 60) > 1.3 * brightness(85, 80));
    for k in 1..25 {
        assert!(
            brightness(at.0 + k, at.1 + k) < brightness(at.0 + k - 1, at.1 + k - 1) + 1e-3,
            "{k}"
        );
    }
}

/// Two boards, the farther one is hidden; turned by half a turn it is the other one. A face the wrong way round shows.
#[test]
fn the_nearer_surface_is_seen() {
    let board = |z: f64, half: f64| {
        [
            [-half, -half, z],
            [half, -half, z],
            [half, half, z],
            [-half, half, z],
        ]
    };
    let positions: Vec<[f64; 3]> = board(0.5, 0.5).into_iter().chain(board(-0.5, 1.0)).collect();
    for faces in [[[0u32, 1, 2, 3], [4, 5, 6, 7]], [[3, 2, 1, 0], [7, 6, 5, 4]]] {
        let mesh = Mesh::from_polygons(positions.clone(), faces).expect("boards");
        let depth = |azimuth| {
            let body = Body::new(&mesh, azimuth);
            raster::raster(&body.triangles, &WINDOW)[60 * 120 + 60]
        };
        let (front, back) = (depth(Azimuth::FRONT), depth(Azimuth::BACK));
        assert!((front.depth - 0.5).abs() < 1e-6 && (back.depth - 0.5).abs() < 1e-6);
        assert_eq!((front.count, back.count), (9, 9));
        assert!((front.normal[2] - 1.0).abs() < 1e-6 && (back.normal[2] - 1.0).abs() < 1e-6);
    }
}

/// Right of a board nearer to the viewer the farther one lies in its shade; far from it, it does not.
#[test]
fn what_lies_behind_is_darker() {
    let board = |z: f64, from: f64| [[from, -1.0, z], [1.4, -1.0, z], [1.4, 1.0, z], [from, 1.0, z]];
    let positions: Vec<[f64; 3]> = board(0.0, -1.4).into_iter().chain(board(0.3, 0.0)).collect();
    let mesh = Mesh::from_polygons(positions, [[0u32, 1, 2, 3], [4, 5, 6, 7]]).expect("boards");
    let shaded = Body::new(&mesh, Azimuth::FRONT).shade(&WINDOW, 2.0);
    let brightness = |x: usize| shaded.at(x, 60).0[1];
    assert!(
        brightness(58) < 0.9 * brightness(30),
        "{} {}",
        brightness(58),
        brightness(30)
    );
    assert!((brightness(30) - brightness(90)).abs() < 1e-3);
}
