//! The reader against sheets of other hands than the shared cases, each with an exact truth. See `sheets`.

mod sheets;

use sheets::judge::judge;
use sheets::known::KNOWN;
use sheets::{ink, look, pencil, set};

macro_rules! sheet {
    ($($from:ident :: $name:ident;)*) => {
        $(
            #[test]
            fn $name() {
                let sheet = $from::$name();
                look::write(stringify!($name), &sheet);
                judge(stringify!($name), &sheet, KNOWN);
            }
        )*
    };
}

sheet! {
    ink::stocky_ink;
    ink::child_brush;
    ink::hatted_guides;
    ink::skirted_flat;
    ink::tailed_transparent;
    ink::messenger_busy;
    ink::fingers_ink;
    ink::akimbo_ink;
    ink::akimbo_colour;
    ink::robot_ink;
    ink::wanderer_dark;
    pencil::soldier_pencil;
    pencil::stocky_gaps;
    pencil::wanderer_gaps;
    pencil::messenger_binder;
    pencil::dumpling_small;
    pencil::robot_fax;
    pencil::skirted_soft;
    pencil::fingers_pencil;
    set::fingers_two_rows;
    set::tailed_five_views;
    set::stocky_large_scan;
    set::akimbo_flat;
    set::soldier_ink;
    set::child_crayon;
    set::messenger_framed;
    set::hatted_small;
    set::dumpling_night;
    set::tailed_faint;
    set::wanderer_axes;
}
