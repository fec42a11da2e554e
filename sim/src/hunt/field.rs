//! The thermal as a map.

use chirrup_flight::centring::thermal::Thermal;

/// The map reaches so far from the thermal's middle on each side, m.
pub const REACH_M: f64 = 360.0;
/// Its points are so far apart, m.
pub const APART_M: f64 = 8.0;
/// Points on a side.
pub const SIDE: usize = 2 * (REACH_M / APART_M) as usize + 1;

/// Rise of the air, m/s, row by row from the south, each from the west.
pub fn rise_mps(thermal: &Thermal) -> Vec<f64> {
    let at = |place: usize| place as f64 * APART_M - REACH_M;
    let row = |north: usize| (0..SIDE).map(move |east| thermal.rise(at(east), at(north)));
    (0..SIDE).flat_map(row).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_middle_of_the_map_is_the_thermals() {
        let thermal = Thermal::of_seed(3);
        let map = rise_mps(&thermal);
        assert_eq!(map.len(), SIDE * SIDE);
        assert_eq!(map[SIDE * SIDE / 2], thermal.rise(0.0, 0.0));
        assert_eq!(map[SIDE - 1], thermal.rise(REACH_M, -REACH_M));
    }
}
