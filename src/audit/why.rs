//! Why each check matters for smoothing or bending, and what to do: the words, apart from what finds the faults.
//!
//! Common practice, no source.

/// Why a check matters, and what to do.
pub(super) fn of(id: &str) -> (&'static str, &'static str) {
    match id {
        "centre-line" => (
            "smoothing pulls a centre vertex that is off the plane into a ridge or a gap where the halves meet",
            "put the vertices onto the plane; `repair --only centre` does it",
        ),
        "mirror" => (
            "weights and shapes are mirrored by their partners; a vertex without one deforms on one side only",
            "move the vertex to its mirrored place, or copy one side over; `repair --only mirror` does it",
        ),
        "open-edges" => (
            "smoothing shrinks every border away from its neighbour: a seam that is not welded opens",
            "weld borders that meet (`repair --only weld`), fill holes, name a border that is meant with --meant-border",
        ),
        "interior-faces" => (
            "a face inside holds the surface back when it is smoothed and pinches it when it bends",
            "delete the faces inside; `repair --only faces` does it",
        ),
        "non-manifold-edges" => (
            "where three faces meet, smoothing has no rule and makes a crease",
            "find the face too many, mostly one left inside, and delete it",
        ),
        "non-manifold-vertices" => (
            "surfaces that touch in one vertex only are torn or pinched there when they are smoothed",
            "split the vertex, or join the surfaces along an edge",
        ),
        "duplicate-vertices" => (
            "two vertices in one place move apart when the mesh is smoothed or bent",
            "weld them; `repair --only weld` does it for borders",
        ),
        "loose-vertices" => (
            "they carry no surface but count in exports and weights",
            "delete them; `repair --only loose` does it",
        ),
        "doubled-faces" => (
            "a face that is there twice flickers, and its edges have too many faces for smoothing",
            "delete one of each; `repair --only faces` does it",
        ),
        "degenerate-faces" => (
            "a face without area has no direction: shading and smoothing break at it",
            "delete it and join what it kept apart; `repair --only faces` does it where that is safe",
        ),
        "flipped-faces" => (
            "a face that looks inward shades black and is pushed the wrong way by everything that follows the normal",
            "turn the faces round; `repair --only turn` does it",
        ),
        "n-gons" => (
            "smoothing makes a pole in the middle of each face of more than four corners",
            "cut them into quads so that the loops run on",
        ),
        "separate-shells" => (
            "pieces that are not connected do not smooth into each other and need weights of their own",
            "join what should bend as one skin; leave eyes, teeth and clothes apart",
        ),
        "poles" => (
            "a vertex of five edges or more pinches when the surface bends or is smoothed there",
            "move poles away from joints and out of silhouettes",
        ),
        "open-loops" => (
            "a loop that ends in a pole or a triangle cannot be selected, slid or refined as a whole",
            "let loops around limbs close",
        ),
        "face-shape" => (
            "a quad that is far from flat or very long shades unevenly and folds when it bends",
            "even out the spacing, move the corners into one plane",
        ),
        "edge-spacing" => (
            "where the spacing jumps, smoothing makes a crease on the dense side and a bulge on the other",
            "let the spacing change over several loops",
        ),
        "joint-loops" => (
            "a joint bends in the loops around it: fewer than three fold it like paper",
            "put three loops or more around the joint, closest where it bends",
        ),
        "flat-rings" => (
            "an opening that is not flat twists what is pulled out of it, and its loops run slanted",
            "flatten the ring before pulling the limb out of it",
        ),
        "sections" => (
            "form that no view shows: a limb that fits both outlines can still be a box",
            "round the corners where the form should be round",
        ),
        _ => ("", ""),
    }
}
