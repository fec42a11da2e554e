//! The report for people.

use super::report::{AirReport, CentringReport};
use crate::text_table::{Column, Table};
use std::fmt::{self, Display, Formatter};

impl Display for CentringReport {
    fn fmt(&self, f: &mut Formatter<'_>) -> fmt::Result {
        writeln!(
            f,
            "Pilots who centre {} thermals by ear: mean climb of three minutes in m/s, and as a \
             share of that\nwith a perfect tone, as used to the former default (unchanged) or to \
             these settings (own)",
            self.thermals
        )?;
        write!(f, "{}", pilot_table(&self.airs))?;
        writeln!(f, "\nThe same with an inertial sensor of the common grade, 1.5 degrees askew")?;
        write!(f, "{}", pilot_table(&self.inertial))?;
        writeln!(
            f,
            "\nThe lower of both means: with the pressures alone, with an inertial sensor, and \
             with a satellite\nreceiver (GNSS) as well; what the default must keep with the \
             sensor, and what is aimed at"
        )?;
        write!(f, "{}", self.share_table())
    }
}

fn pilot_table(airs: &[AirReport]) -> Table {
    let columns = [
        Column::left("air").wide(10),
        Column::left("pilot"),
        Column::right("perfect").gap(4),
        Column::right("these"),
        Column::right("unchanged"),
        Column::right("own"),
        Column::right("allows s"),
    ];
    let mut table = Table::new(columns);
    for air in airs {
        for pilot in &air.pilots {
            table.row([
                air.air.to_owned(),
                pilot.pilot.to_owned(),
                format!("{:.3}", pilot.perfect_mps),
                format!("{:.3}", pilot.unchanged_mps),
                format!("{:.3}", pilot.unchanged_share),
                format!("{:.3}", pilot.own_share),
                pilot.own_allowance_s.map_or("-".into(), |allowance| format!("{allowance:.1}")),
            ]);
        }
        let empty = String::new;
        table.row([
            air.air.to_owned(),
            "mean of all".into(),
            empty(),
            empty(),
            format!("{:.3}", air.unchanged_share),
            format!("{:.3}", air.own_share),
            empty(),
        ]);
    }
    table
}

impl CentringReport {
    fn share_table(&self) -> Table {
        let columns = [
            Column::left("air").wide(10),
            Column::right("alone"),
            Column::right("inertial"),
            Column::right("GNSS"),
            Column::right("must"),
            Column::right("aim"),
            Column::left(""),
        ];
        let mut table = Table::new(columns);
        for row in &self.shares {
            table.row([
                row.air.to_owned(),
                format!("{:.3}", row.pressures),
                format!("{:.3}", row.inertial),
                format!("{:.3}", row.with_satellites),
                format!("{:.2}", row.must),
                format!("{:.2}", row.aim),
                if row.holds { "yes" } else { "no" }.to_owned(),
            ]);
        }
        table
    }
}
