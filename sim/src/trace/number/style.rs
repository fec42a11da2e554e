//! Marks between thousands: which a file uses, and a number without them.

/// No number with marks is longer than this, bytes.
const LONGEST: usize = 48;

/// What commas and points mean in the numbers of a file.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub(in crate::trace) struct Style {
    /// `90.000` is ninety thousand.
    pub points_group: bool,
    /// `90,000` is ninety thousand.
    pub commas_group: bool,
    /// `90,000,10` is 90000.10: commas part thousands and decimals alike.
    pub last_comma_is_decimal: bool,
}

impl Style {
    /// What the numbers among `cells` show.
    ///
    /// A comma before a point parts thousands, and so does one that comes twice. Where numbers have
    /// decimal points and no comma is followed by anything but three digits, commas part thousands;
    /// and so do points where numbers have decimal commas.
    pub fn of<'a>(cells: impl Iterator<Item = &'a [u8]>) -> Self {
        let mut seen = Seen::default();
        cells.filter_map(Marked::of).for_each(|cell| seen.add(&cell));
        let last_comma_is_decimal = seen.twofold_comma;
        let inferred = seen.decimal_point && !seen.decimal_comma;
        Self {
            points_group: seen.grouping_point || seen.decimal_comma && !seen.surely_decimal_point,
            commas_group: (seen.grouping_comma || inferred) && !last_comma_is_decimal,
            last_comma_is_decimal,
        }
    }

    /// Whether `mark` may be the decimal point of a number that has no other mark.
    pub fn is_point(self, mark: u8) -> bool {
        mark == b'.' && !self.points_group || mark == b',' && !self.commas_group
    }

    /// Whether `text` means the same in this style as in the default one.
    pub fn reads_alike(self, text: &[u8]) -> bool {
        !(self.points_group && text.contains(&b'.') || self.commas_group && text.contains(&b','))
    }
}

/// What was seen of the marks of a file.
#[derive(Default)]
struct Seen {
    decimal_point: bool,
    /// One that no three digits follow, or that follows a zero.
    surely_decimal_point: bool,
    decimal_comma: bool,
    grouping_point: bool,
    grouping_comma: bool,
    twofold_comma: bool,
}

impl Seen {
    fn add(&mut self, cell: &Marked<'_>) {
        let (points, commas) = (cell.count(b'.'), cell.count(b','));
        let digits_after = |mark: u8| cell.last(mark).map(|at| cell.body().len() - at - 1);
        match (points, commas) {
            (1, 0) => {
                self.decimal_point = true;
                self.surely_decimal_point |= digits_after(b'.') != Some(3) || cell.is_below_one();
            }
            (0, 1) => self.decimal_comma |= digits_after(b',') != Some(3) || cell.is_below_one(),
            (1, 1..) if cell.last(b'.') > cell.last(b',') => {
                (self.decimal_point, self.grouping_comma) = (true, true);
                self.surely_decimal_point = true;
            }
            (1.., 1) if cell.last(b',') > cell.last(b'.') => {
                (self.decimal_comma, self.grouping_point) = (true, true);
            }
            (0, 2..) if digits_after(b',') == Some(3) => self.grouping_comma = true,
            (0, 2..) => self.twofold_comma = true,
            (2.., 0) if digits_after(b'.') == Some(3) => self.grouping_point = true,
            _ => {}
        }
    }
}

/// A number whose spaces and apostrophes, of whatever kind, are single bytes.
struct Marked<'a> {
    sign: &'a [u8],
    bytes: [u8; LONGEST],
    length: usize,
}

impl<'a> Marked<'a> {
    /// `None` for anything but digits and marks, with a sign or without.
    fn of(text: &'a [u8]) -> Option<Self> {
        let signs = usize::from(matches!(text.first(), Some(b'-' | b'+')));
        let (sign, mut rest) = text.split_at(signs);
        let mut marked = Self { sign, bytes: [0; LONGEST], length: 0 };
        while let Some(first) = rest.first() {
            let (byte, taken) = match (first, rest) {
                (b'0'..=b'9' | b'.' | b',' | b' ' | b'\'', _) => (*first, 1),
                // No-break, figure, thin and narrow spaces and the typographic apostrophe, in
                // UTF-8 and in the code page of western spreadsheets.
                (_, [0xC2, 0xA0, ..]) => (b' ', 2),
                (_, [0xE2, 0x80, 0x87 | 0x89 | 0xAF, ..]) => (b' ', 3),
                (_, [0xE2, 0x80, 0x99, ..]) => (b'\'', 3),
                (0xA0, _) => (b' ', 1),
                (0x92, _) => (b'\'', 1),
                _ => return None,
            };
            *marked.bytes.get_mut(marked.length)? = byte;
            marked.length += 1;
            rest = &rest[taken..];
        }
        marked.body().first().is_some_and(u8::is_ascii_digit).then_some(marked)
    }

    fn body(&self) -> &[u8] {
        &self.bytes[..self.length]
    }

    fn count(&self, mark: u8) -> usize {
        self.body().iter().filter(|byte| **byte == mark).count()
    }

    fn last(&self, mark: u8) -> Option<usize> {
        self.body().iter().rposition(|byte| *byte == mark)
    }

    /// Whether it begins with a zero, as no thousands do.
    fn is_below_one(&self) -> bool {
        self.body().first() == Some(&b'0')
    }

    /// Where the decimal mark is, if there is one.
    fn decimal(&self, style: Style) -> Option<usize> {
        let (point, comma) = (self.last(b'.'), self.last(b','));
        let is_of_three = |at: usize| self.length - at - 1 == 3 && !self.is_below_one();
        match (point, comma) {
            (Some(point), Some(comma)) => Some(point.max(comma)),
            (Some(point), None) => {
                let groups = self.count(b'.') > 1 || style.points_group && is_of_three(point);
                (!groups).then_some(point)
            }
            (None, Some(comma)) if self.count(b',') > 1 => {
                style.last_comma_is_decimal.then_some(comma)
            }
            (None, Some(comma)) => (!(style.commas_group && is_of_three(comma))).then_some(comma),
            (None, None) => None,
        }
    }
}

/// A number with a decimal point and without marks between thousands.
pub(super) struct Plain {
    bytes: [u8; LONGEST + 1],
    length: usize,
}

impl Plain {
    /// `None` where the marks do not stand before three digits each, or differ.
    pub fn of(text: &[u8], style: Style) -> Option<Self> {
        let marked = Marked::of(text)?;
        let decimal = marked.decimal(style);
        let (whole, fraction) = match decimal {
            Some(at) => (&marked.body()[..at], &marked.body()[at + 1..]),
            None => (marked.body(), &[][..]),
        };
        if !is_grouped(whole) || !fraction.iter().all(u8::is_ascii_digit) {
            return None;
        }
        let mut plain = Self { bytes: [0; LONGEST + 1], length: 0 };
        let digits = whole.iter().filter(|byte| byte.is_ascii_digit());
        let point = decimal.is_some().then_some(&b'.');
        for byte in marked.sign.iter().chain(digits).chain(point).chain(fraction) {
            *plain.bytes.get_mut(plain.length)? = *byte;
            plain.length += 1;
        }
        Some(plain)
    }

    pub fn text(&self) -> &[u8] {
        &self.bytes[..self.length]
    }
}

/// Whether equal marks part these digits into threes, or nothing does.
fn is_grouped(whole: &[u8]) -> bool {
    let Some(mark) = whole.iter().find(|byte| !byte.is_ascii_digit()) else {
        return true;
    };
    let mut groups = whole.split(|byte| byte == mark);
    groups.next().is_some_and(|first| (1..=3).contains(&first.len()))
        && groups.all(|group| group.len() == 3 && group.iter().all(u8::is_ascii_digit))
}

#[cfg(test)]
mod tests {
    use super::super::{Field, field, micros};
    use super::*;

    fn style(cells: &[&str]) -> Style {
        Style::of(cells.iter().map(|cell| cell.as_bytes()))
    }

    #[test]
    fn marks_between_thousands_are_taken_off() {
        for text in [
            "90,000.25",
            "90.000,25",
            "90 000.25",
            "90 000,25",
            "90'000.25",
            "90\u{2019}000,25",
            "90\u{a0}000.25",
            "90\u{202f}000,25",
            "90\u{2009}000,25",
        ] {
            assert_eq!(field(text.as_bytes(), Style::default()), Field::Value(90_000.25), "{text}");
        }
        assert_eq!(field(b"90\xA0000,25", Style::default()), Field::Value(90_000.25));
        assert_eq!(field(b"-1,234,567", Style::default()), Field::Value(-1_234_567.0));
        assert_eq!(field(b"1.234.567", Style::default()), Field::Value(1_234_567.0));
        assert_eq!(micros(b"1,721,044,800.5", 6, Style::default()), Ok(1_721_044_800_500_000));
    }

    #[test]
    fn marks_that_part_no_thousands_make_no_number() {
        for text in
            ["1,2,3", "12 3", "1234,567.8", "1,234 567.8", "1,23,456.7", "1 000 00", "1,,000"]
        {
            assert_eq!(field(text.as_bytes(), Style::default()), Field::Unreadable, "{text}");
        }
    }

    #[test]
    fn one_comma_before_three_digits_is_what_the_rest_of_the_file_says() {
        let read = |text: &str, cells: &[&str]| field(text.as_bytes(), style(cells));
        assert_eq!(read("90,125", &["90,125"]), Field::Value(90.125));
        assert_eq!(read("90,125", &["90,125", "0,02"]), Field::Value(90.125));
        assert_eq!(read("90,125", &["90,125", "0.02"]), Field::Value(90_125.0));
        assert_eq!(read("90,125", &["90,125", "90,126.5"]), Field::Value(90_125.0));
        assert_eq!(read("90.125", &["90.125", "90.126,5"]), Field::Value(90_125.0));
        assert_eq!(read("0,020", &["0,020", "15.5"]), Field::Value(0.02));
        assert_eq!(read("90.12", &["90.125", "90.126,5"]), Field::Value(90.12));
        assert_eq!(read("900.000", &["900.000", "90005,46"]), Field::Value(900_000.0));
        assert_eq!(read("12.500", &["0.000", "12.500", "90005,46"]), Field::Value(12.5));
        assert_eq!(micros(b"1,000", 3, style(&["0.5", "1,000"])), Ok(1_000_000));
    }

    #[test]
    fn a_comma_may_part_thousands_and_decimals_alike() {
        let both = style(&["0,02", "90,000,10"]);
        assert!(both.last_comma_is_decimal);
        assert_eq!(field(b"90,000,10", both), Field::Value(90_000.1));
        assert_eq!(field(b"90,000,125", both), Field::Value(90_000.125));
        assert_eq!(field(b"0,02", both), Field::Value(0.02));
        assert_eq!(field(b"0.10", both), Field::Value(0.1));
    }
}
