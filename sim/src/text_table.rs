//! Tables in text: columns aligned under their headings, for every command that prints one.
//!
//! ```text
//!   filter   response     from   m/s rms      headings; of several lines the last ones are level
//!   adaptive   1.00 s     0.20     0.467      cells, on the left or the right of their column
//! ```
//!
//! A column is as wide as its widest cell or heading, or wider where [`Column::wide`] says so.

use std::fmt::{self, Display, Formatter};

/// Spaces before a table, and between two columns unless [`Column::gap`] says otherwise.
const INDENT: usize = 2;
const GAP: usize = 3;

/// A column of a table.
#[derive(Clone, Debug)]
pub struct Column {
    heading: Vec<String>,
    is_right: bool,
    gap: usize,
    width: usize,
}

impl Column {
    /// Words, aligned on the left; the heading's lines are separated by line ends.
    pub fn left(heading: &str) -> Self {
        let heading: Vec<String> = heading.lines().map(str::to_owned).collect();
        let width = heading.iter().map(|line| width_of(line)).max().unwrap_or(0);
        Self { heading, is_right: false, gap: GAP, width }
    }

    /// Numbers, aligned on the right.
    pub fn right(heading: &str) -> Self {
        Self { is_right: true, ..Self::left(heading) }
    }

    /// With so many spaces between the column before and this one.
    pub fn gap(self, gap: usize) -> Self {
        Self { gap, ..self }
    }

    /// At least so many characters wide.
    pub fn wide(self, width: usize) -> Self {
        Self { width: self.width.max(width), ..self }
    }

    /// A line of the heading, counted from the lowest; empty above the highest.
    fn line_from_below(&self, line: usize) -> &str {
        let place = self.heading.len().checked_sub(line + 1);
        place.map_or("", |place| &self.heading[place])
    }

    fn put(&self, text: &mut String, cell: &str) {
        let missing = " ".repeat(self.width.saturating_sub(width_of(cell)));
        let (before, after) = if self.is_right { (&*missing, "") } else { ("", &*missing) };
        *text += before;
        *text += cell;
        *text += after;
    }
}

/// A table being made.
#[derive(Clone, Debug)]
pub struct Table {
    indent: usize,
    columns: Vec<Column>,
    groups: Vec<(usize, String)>,
    rows: Vec<Vec<String>>,
}

impl Table {
    /// A table without rows, two spaces from the left.
    pub fn new(columns: impl IntoIterator<Item = Column>) -> Self {
        let columns = columns.into_iter().collect();
        Self { indent: INDENT, columns, groups: Vec::new(), rows: Vec::new() }
    }

    /// With so many spaces from the left.
    pub fn indented(self, indent: usize) -> Self {
        Self { indent, ..self }
    }

    /// Puts a heading above several columns, in a line above theirs, from the left edge of
    /// `column` on.
    pub fn group(mut self, column: usize, heading: &str) -> Self {
        self.groups.push((column, heading.to_owned()));
        self
    }

    /// Adds a row; cells beyond the last column are left out, missing ones stay empty.
    pub fn row<T: ToString>(&mut self, cells: impl IntoIterator<Item = T>) {
        let cells: Vec<String> = cells.into_iter().map(|cell| cell.to_string()).collect();
        for (column, cell) in self.columns.iter_mut().zip(&cells) {
            column.width = column.width.max(width_of(cell));
        }
        self.rows.push(cells);
    }

    /// The line of the groups, and how much of the own headings stands beside them: a column
    /// whose heading is one line higher than its neighbours' shows that line there.
    fn group_line(&self, line: usize) -> String {
        let mut text = self.line(|column| column.line_from_below(line));
        for (place, heading) in &self.groups {
            let left = self.left_edge(*place);
            let kept: String = text.chars().take(left).collect();
            let after: String = text.chars().skip(left + width_of(heading)).collect();
            let missing = " ".repeat(left.saturating_sub(width_of(&kept)));
            text = kept + &missing + heading + &after;
        }
        text
    }

    fn left_edge(&self, place: usize) -> usize {
        let before = self.columns.iter().take(place);
        let widths: usize = before.map(|column| column.width).sum();
        let gaps: usize =
            self.columns.iter().take(place + 1).skip(1).map(|column| column.gap).sum();
        self.indent + widths + gaps
    }

    fn line<'a>(&'a self, cell: impl Fn(&'a Column) -> &'a str) -> String {
        self.cells(self.columns.iter().map(cell))
    }

    fn cells<'a>(&self, cells: impl Iterator<Item = &'a str>) -> String {
        let mut text = " ".repeat(self.indent);
        for (place, (column, cell)) in self.columns.iter().zip(cells).enumerate() {
            text += &" ".repeat(if place == 0 { 0 } else { column.gap });
            column.put(&mut text, cell);
        }
        text.truncate(text.trim_end().len());
        text
    }
}

impl Display for Table {
    /// The headings and the rows, each line with its end.
    fn fmt(&self, f: &mut Formatter<'_>) -> fmt::Result {
        let own = self.columns.iter().map(|column| column.heading.len()).max().unwrap_or(0);
        let lines = own.max(if self.groups.is_empty() { 0 } else { 2 });
        for line in (0..lines).rev() {
            if line + 1 == lines && !self.groups.is_empty() {
                writeln!(f, "{}", self.group_line(line))?;
            } else {
                writeln!(f, "{}", self.line(|column| column.line_from_below(line)))?;
            }
        }
        self.rows.iter().try_for_each(|row| writeln!(f, "{}", self.cells(row.iter().map(|c| &**c))))
    }
}

fn width_of(text: &str) -> usize {
    text.chars().count()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn columns_are_as_wide_as_their_widest_cell_and_lines_end_without_spaces() {
        let mut table = Table::new([Column::left("name"), Column::right("m"), Column::left("")]);
        table.row(["a long one", "7", ""]);
        table.row(["b", "1234.5", "note"]);
        assert_eq!(
            table.to_string(),
            "  name              m\n  a long one        7\n  b            1234.5   note\n"
        );
    }

    #[test]
    fn headings_of_several_lines_stand_level_at_the_bottom_and_groups_above_them() {
        let columns = [
            Column::left("climb\nm/s").wide(6),
            Column::right("these"),
            Column::right("fixed"),
            Column::right("these").gap(5),
        ];
        let mut table = Table::new(columns).group(1, "to 50 %").group(3, "overshoot");
        table.row(["0 to 1", "0.30", "1.01", "3 %"]);
        assert_eq!(
            table.to_string(),
            "  climb    to 50 %           overshoot\n  m/s      these   fixed     these\n  \
             0 to 1    0.30    1.01       3 %\n"
        );
    }

    #[test]
    fn a_table_without_headings_has_none_and_signs_of_several_bytes_are_one_wide() {
        let mut table =
            Table::new([Column::left(""), Column::right("").gap(1).wide(3)]).indented(0);
        table.row(["weaker", "·"]);
        table.row(["x", "12"]);
        assert_eq!(table.to_string(), "weaker   ·\nx       12\n");
    }
}
