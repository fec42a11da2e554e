//! A simulated MS4525DO.

use super::air::{Air, Trouble};
use crate::bus::Reply;
use chirrup_core::Micros;

/// An MS4525DO of type A and 1 psi.
#[derive(Clone, Debug, Default)]
pub struct FakeMs4525 {
    /// Its fault; spoilt means that it reports a fault of its own.
    pub trouble: Trouble,
    last_read: Option<Micros>,
    counts: u16,
}

impl FakeMs4525 {
    pub(super) fn answer(&mut self, now: Micros, air: &impl Air) -> Reply {
        let is_stale = self.last_read.is_some_and(|last| now.0 - last.0 < 500);
        self.last_read = Some(now);
        if self.trouble != Trouble::Frozen {
            // Type A, 1 psi: 10 % to 90 % of 16383 counts from -6895 to 6895 Pa.
            let pascals = f64::from(air.dynamic_64ths_pa(now)) / 64.0;
            self.counts = ((pascals + 6_895.0) / 13_790.0 * 13_106.4 + 1_638.3 + 0.5) as u16;
        }
        let status: u16 = match self.trouble {
            Trouble::Spoilt => 3,
            Trouble::Silent => 2,
            _ if is_stale => 2,
            _ => 0,
        };
        let [high, low] = (status << 14 | self.counts & 0x3FFF).to_be_bytes();
        // 20 degrees Celsius are 716 counts.
        let [warm, rest] = (716_u16 << 5).to_be_bytes();
        Reply::from_iter([high, low, warm, rest])
    }
}
