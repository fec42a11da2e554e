//! The figures of rough air for people.

use super::bounds::Measure;
use super::report::{RoughReport, Row};
use super::trial::RESPONSES_S;
use crate::text_table::{Column, Table};
use std::fmt::{self, Display, Formatter};

impl Display for RoughReport {
    fn fmt(&self, f: &mut Formatter<'_>) -> fmt::Result {
        writeln!(
            f,
            "Rough air, flown with a pitot through the whole instrument; {} of {:.0} minutes a \
             case, the\n\
             worst counts. The truth is the rate of the glider's own energy: a gust is no gain. \
             \"Must\" is\n\
             what the default must hold. \"Best fixed\" is the fixed filter of {} to {} s with \
             the least error\n\
             in that case. A dash: the reading was half-way up at too many entries before they \
             began.",
            flights(self.seeds),
            self.counted_s / 60.0,
            RESPONSES_S[0],
            RESPONSES_S[RESPONSES_S.len() - 1],
        )?;
        write!(f, "{}", self.case_table())?;
        let judged = self.rows.iter().filter(|row| row.holds.is_some()).count();
        let held = self.rows.iter().filter(|row| row.holds == Some(true)).count();
        writeln!(f, "  {held} of {judged} bounds hold.")?;
        self.inertial(f)?;
        writeln!(
            f,
            "\nWhat quickness costs in gusts of 0.5 m/s: false spells straight on against entries \
             of 2 m/s"
        )?;
        write!(f, "{}", self.front_table())
    }
}

impl RoughReport {
    fn case_table(&self) -> Table {
        let columns = [
            Column::left(""),
            Column::right("these").gap(1),
            Column::right("must").gap(2),
            Column::left("").gap(1),
            Column::right("best fixed").gap(1),
            Column::right("of, s").gap(1),
        ];
        let mut table = Table::new(columns);
        let mut case = "";
        for row in &self.rows {
            if row.case != case {
                case = row.case;
                table.row([row.title.to_owned()]);
            }
            table.row([
                format!("  {}", row.measure.title()),
                figure(row, row.present),
                row.must.map_or_else(String::new, |must| figure(row, Some(must))),
                verdict(row).to_owned(),
                row.best_fixed_response_s.map_or_else(String::new, |_| figure(row, row.best_fixed)),
                row.best_fixed_response_s.map_or_else(String::new, |s| s.to_string()),
            ]);
        }
        table
    }

    fn inertial(&self, f: &mut Formatter<'_>) -> fmt::Result {
        writeln!(
            f,
            "\nThe same with an inertial sensor of the common grade, 1.5 degrees askew, and with a \
             satellite\nreceiver (GNSS) as well; \"alone\" are the pressures; its bounds \
             are its own"
        )?;
        write!(f, "{}", self.inertial_table())?;
        let held = self.inertial.iter().filter(|row| row.holds).count();
        writeln!(f, "  {held} of {} bounds hold.", self.inertial.len())
    }

    fn inertial_table(&self) -> Table {
        let columns = [
            Column::left(""),
            Column::right("alone").gap(1),
            Column::right("inertial").gap(1),
            Column::right("must").gap(1),
            Column::right("GNSS").gap(1),
            Column::right("must").gap(1),
            Column::left("").gap(1),
        ];
        let mut table = Table::new(columns);
        let mut case = "";
        for row in &self.inertial {
            if row.case != case {
                case = row.case;
                table.row([row.title.to_owned()]);
            }
            let figure = |value| number(row.measure, value);
            table.row([
                format!("  {}", row.measure.title()),
                figure(row.pressures),
                figure(row.inertial),
                figure(Some(row.must)),
                figure(row.with_satellites),
                figure(Some(row.must_with_satellites)),
                if row.holds { "yes" } else { "no" }.to_owned(),
            ]);
        }
        table
    }

    fn front_table(&self) -> Table {
        let headings = ["response s", "half-way late by, s", "false spells in 10 min"];
        let mut table = Table::new(headings.map(Column::right));
        for trade in self.front.iter().chain([&self.present]) {
            table.row([
                trade.response_s.map_or_else(|| String::from("these     "), |s| format!("{s:.2}")),
                trade.half_late_s.map_or_else(|| String::from("-"), |s| format!("{s:.2}")),
                format!("{:.1}", trade.false_spells),
            ]);
        }
        table
    }
}

fn flights(seeds: u32) -> String {
    if seeds == 1 { String::from("one flight") } else { format!("{seeds} flights") }
}

fn figure(row: &Row, value: Option<f64>) -> String {
    number(row.measure, value)
}

fn number(measure: Measure, value: Option<f64>) -> String {
    let decimals = measure.decimals();
    value.map_or_else(|| String::from("-"), |value| format!("{value:.decimals$}"))
}

fn verdict(row: &Row) -> &'static str {
    match row.holds {
        Some(true) => "yes",
        Some(false) => "no",
        None => "",
    }
}
