//! Lines with quotes by RFC 4180, section 2 ("Common Format and MIME Type for CSV Files"; its rules
//! from memory). Beyond it: spaces around a field are not part of it, and a field ends with its
//! line.

use super::*;
use crate::trace::testing::seeded;
use proptest::prelude::*;

fn fields(delimiter: u8, line: &str) -> Vec<String> {
    let mut row = Row::new(delimiter);
    row.split(line.as_bytes());
    row.fields().map(|field| String::from_utf8_lossy(field).into_owned()).collect()
}

#[test]
fn quoted_fields_are_those_of_the_standard() {
    for (line, expected) in [
        // Rule 5: a field may be quoted or not; rule 4: the last is followed by no comma.
        (r#""aaa","bbb","ccc""#, &["aaa", "bbb", "ccc"][..]),
        (r#"zzz,"yyy",xxx"#, &["zzz", "yyy", "xxx"]),
        // Rule 6: a comma in quotes separates nothing.
        (r#""a,b",c"#, &["a,b", "c"]),
        // Rule 7: two quotes in quotes are one.
        (r#""aaa","b""bb","ccc""#, &["aaa", "b\"bb", "ccc"]),
        (r#""""""#, &["\""]),
        (r#""a""",b"#, &["a\"", "b"]),
        // Empty fields, quoted or not, at the beginning, within and at the end.
        (r#""""#, &[""]),
        (r#""","#, &["", ""]),
        (r#","""#, &["", ""]),
        (r#""",,"""#, &["", "", ""]),
    ] {
        assert_eq!(fields(b',', line), expected, "{line}");
    }
    assert_eq!(fields(b';', r#""1,5";"a;b";2"#), ["1,5", "a;b", "2"]);
    assert_eq!(fields(b'\t', "\"a\tb\"\t2"), ["a\tb", "2"]);
}

#[test]
fn a_stray_quote_costs_no_more_than_its_line() {
    let mut row = Row::new(b',');
    for (line, count) in [("0,\"never ended,1,2", 2), ("0,5\" pipe,2", 3), ("\"", 1), ("0,\"", 2)] {
        row.split(line.as_bytes());
        assert_eq!(row.fields().count(), count, "{line}");
        row.split(b"1,\"2\",3");
        assert_eq!(row.fields().collect::<Vec<_>>(), [b"1", b"2", b"3"], "after {line}");
    }
}

/// A field as the standard writes it, quoted where it must be or where `is_quoted`.
fn written(field: &str, delimiter: char, is_quoted: bool) -> String {
    if is_quoted || field.contains(['"', delimiter]) {
        format!("\"{}\"", field.replace('"', "\"\""))
    } else {
        field.to_owned()
    }
}

proptest! {
    #![proptest_config(seeded())]

    /// The writer above shares nothing with the splitter; the crate `csv` reads the same of it.
    #[test]
    fn what_the_standard_writes_comes_back(
        row in proptest::collection::vec(("[a-z0-9,;\" .é]{0,8}", any::<bool>()), 1..9),
        delimiter in prop_oneof![Just(','), Just(';'), Just('\t'), Just('|')],
    ) {
        let line: Vec<_> =
            row.iter().map(|(field, quoted)| written(field, delimiter, *quoted)).collect();
        let line = line.join(&delimiter.to_string());
        let expected: Vec<_> = row.iter().map(|(field, _)| field.trim().to_owned()).collect();
        prop_assert_eq!(fields(delimiter as u8, &line), expected.clone());
        #[cfg(feature = "program")]
        if !line.is_empty() {
            let mut reader = csv::ReaderBuilder::new();
            reader.has_headers(false).delimiter(delimiter as u8).trim(csv::Trim::All);
            let mut reader = reader.from_reader(line.as_bytes());
            let record = reader.records().next().expect("a record").expect("it is CSV");
            prop_assert_eq!(record.iter().map(str::to_owned).collect::<Vec<_>>(), expected);
        }
    }

    #[test]
    fn no_line_with_quotes_makes_it_panic_or_lose_bytes(line in "[\",a ]{0,30}") {
        let mut row = Row::new(b',');
        row.split(line.as_bytes());
        let kept: usize = row.fields().flatten().filter(|byte| **byte == b'a').count();
        prop_assert_eq!(kept, line.matches('a').count());
        prop_assert!(row.fields().count() <= line.matches(',').count() + 1);
    }
}
