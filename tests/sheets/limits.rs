//! The limits that a reading is held to, fixed beforehand: percent of the figure's height unless a name says otherwise.
//!
//! The finished program is asked for 0.15 / 0.60 % of the outer width (median / 95th percentile), 0.60 % of inner ends,
//! box IoU 0.94 and 0.15° of skew, placement included and twice that for small figures. Reading alone has to be
//! better: no placement error comes on top here.

pub(crate) struct Limits {
    pub(crate) outer_median: f64,
    pub(crate) outer_p95: f64,
    /// Median offset of the middle of a row.
    pub(crate) aside: f64,
    pub(crate) inner_p95: f64,
    /// Percent of the rows.
    pub(crate) miscounted: f64,
    /// Percent of the open area of a concave place's window.
    pub(crate) filled: f64,
    pub(crate) hole_iou: f64,
    pub(crate) box_iou: f64,
    pub(crate) skew_deg: f64,
}

/// Clean drawing, clean scan.
pub(crate) const CLEAN: Limits = Limits {
    outer_median: 0.10,
    outer_p95: 0.60,
    aside: 0.10,
    inner_p95: 0.60,
    miscounted: 2.0,
    filled: 8.0,
    hole_iou: 0.85,
    box_iou: 0.94,
    skew_deg: 0.10,
};

/// Pencil, gaps, stains, blur, compression.
pub(crate) const DAMAGED: Limits = Limits {
    outer_median: 0.20,
    outer_p95: 1.00,
    aside: 0.15,
    inner_p95: 1.00,
    miscounted: 4.0,
    filled: 12.0,
    hole_iou: 0.75,
    box_iou: 0.94,
    skew_deg: 0.15,
};

/// Figures less than 600 px tall, whatever the damage: one pixel is more than 0.17 % of the height.
pub(crate) const LOW: Limits = Limits {
    outer_median: 0.25,
    outer_p95: 1.20,
    aside: 0.15,
    inner_p95: 1.20,
    miscounted: 5.0,
    filled: 15.0,
    hole_iou: 0.70,
    box_iou: 0.94,
    skew_deg: 0.20,
};
