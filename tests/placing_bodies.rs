mod bodies;
#[path = "sheets/rng.rs"]
mod rng;
use bodies::*;
use rng::Rng;
use drawntrue::place::fit::{Care, Drawn, Effort, Known, Modelled, Pair, certainty, everything};
use drawntrue::place::transform::Placement;
use drawntrue::silhouette::Azimuth;

fn wrongs() -> Vec<(&'static str, Vec<Wrong>)> {
    let w = |part, thick, long| Wrong { part, thick, long };
    vec![
        ("none", vec![]),
        ("torso thick", vec![w("torso", 1.15, 1.0)]),
        ("torso thin", vec![w("torso", 0.88, 1.0)]),
        ("pelvis thick", vec![w("pelvis", 1.15, 1.0)]),
        ("thigh thick", vec![w("left-thigh", 1.3, 1.0)]),
        ("thighs thick", vec![w("left-thigh", 1.25, 1.0), w("right-thigh", 1.25, 1.0)]),
        ("calves thin", vec![w("left-calf", 0.75, 1.0), w("right-calf", 0.75, 1.0)]),
        ("feet long", vec![w("left-foot", 1.0, 1.3), w("right-foot", 1.0, 1.3)]),
        ("head big", vec![w("head", 1.15, 1.0)]),
        ("neck long", vec![w("neck", 1.0, 1.5)]),
        ("arms long", vec![w("left-forearm", 1.0, 1.4), w("right-forearm", 1.0, 1.4)]),
    ]
}

#[test]
fn measure() {
    let mut head_arms: Vec<&str> = HEAD.to_vec();
    head_arms.extend(ARMS);
    let missing: Vec<(&str, Vec<&str>)> = vec![
        ("nothing", vec![]),
        ("head", HEAD.to_vec()),
        ("arms", ARMS.to_vec()),
        ("head+arms", head_arms),
        ("leg", LEG.to_vec()),
        ("feet", FEET.to_vec()),
    ];
    let runs = 8;
    for (mname, miss) in &missing {
        for (wname, wrong) in wrongs() {
            let mut out = Vec::new();
            for seed in 0..runs {
                let mut rng = Rng::new(1000 + seed);
                let build = Build::random(&mut rng);
                let scale = 10f64.powf(rng.range(-1.0, 2.3));
                let px = rng.range(600.0, 5000.0);
                let u = scale / px;
                let truth: Vec<Placement> = (0..2).map(|k| Placement { units_per_px: u, origin_px: px * (0.5 + k as f64 * 0.9) + rng.range(-50.0, 50.0), zero_px: px * 1.1, mirrored: false }).collect();
                let mut posed = build.clone();
                if seed % 2 == 1 { posed.arms = if build.arms > 35.0 { build.arms - rng.range(25.0, 35.0) } else { build.arms + rng.range(25.0, 35.0) }; }
                let az = [Azimuth::FRONT, Azimuth::FACING_RIGHT];
                let hand = if seed % 4 < 2 { 0.0 } else { 0.0015 * scale };
                let drawings: Vec<_> = outlines(&build.figure(&[], &[], scale), &az).iter().map(|o| drawn_by_hand(o, hand, &mut rng)).collect();
                let drawn: Vec<Drawn> = drawings.iter().zip(&truth).map(|(o, p)| Drawn::new(&on_sheet(o, p)).unwrap()).collect();
                let mesh = posed.figure(miss, &wrong, scale);
                let models: Vec<Modelled> = outlines(&mesh, &az).iter().map(|o| Modelled::new(o).unwrap()).collect();
                let pairs: Vec<Pair> = drawn.iter().zip(&models).map(|(drawn, modelled)| Pair { drawn, modelled, origin_px: None }).collect();
                let t = std::time::Instant::now();
                let fit = everything(&pairs, &Known::default(), Effort::Everywhere, Care::Fine).unwrap();
                let ms = t.elapsed().as_secs_f64() * 1e3;
                let s = 100.0 * (fit.units_per_px / u - 1.0);
                let truth_ground = (truth[0].zero_px - drawn[0].ground_px) * u;
                let ground = (fit.zero_px - drawn[0].ground_px) * fit.units_per_px;
                let g = 100.0 * (ground - truth_ground) / scale;
                let c = certainty(&pairs, &fit, &Known::default()); let (us, ug) = c.map_or((-1.0, -1.0), |c| (c.scale_pct, 100.0 * c.ground / scale)); out.push((s, g, fit.agreeing, ms, us, ug, fit.rival.unwrap_or(99.0)));
            }
            let bad = out.iter().filter(|o| o.0.abs() > 0.5 || o.1.abs() > 0.5).count();
            let f = |v: f64| format!("{v:6.2}");
            println!("    unc s {}  g {}  rival {}", out.iter().map(|o| f(o.4)).collect::<Vec<_>>().join(" "), out.iter().map(|o| f(o.5)).collect::<Vec<_>>().join(" "), out.iter().map(|o| f(o.6)).collect::<Vec<_>>().join(" "));
            println!("{mname:10} {wname:13} bad {bad}  s {}  g {}  agree {:.2} ms {:.0}", out.iter().map(|o| f(o.0)).collect::<Vec<_>>().join(" "), out.iter().map(|o| f(o.1)).collect::<Vec<_>>().join(" "), out.iter().map(|o| o.2).sum::<f64>() / runs as f64, out.iter().map(|o| o.3).sum::<f64>() / runs as f64);
        }
    }
}
