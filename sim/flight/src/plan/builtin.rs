//! The scenarios that are part of the program, from `scenarios/`. Gliders, places and days are
//! invented.

/// A built-in scenario.
#[derive(Clone, Copy, Debug)]
pub struct BuiltIn {
    /// The name to type.
    pub name: &'static str,
    /// Its text.
    pub text: &'static str,
}

macro_rules! built_in {
    ($($name:literal),* $(,)?) => {
        [$(BuiltIn {
            name: $name,
            text: include_str!(concat!("../../scenarios/", $name, ".toml")),
        }),*]
    };
}

/// Those that are recordings too.
pub const ALL: [BuiltIn; 11] = built_in![
    "demo-flight",
    "winch-and-circuit",
    "aerotow-and-thermal",
    "weak-blue-day",
    "cloud-street",
    "ridge",
    "wave",
    "pull-ups",
    "spin",
    "aerobatics",
    "blocked-static",
];

/// Flights through rough air, to judge a reading by: see [`super::rough`].
pub const ROUGH: [BuiltIn; 3] = built_in!["rough-glide", "rough-thermals", "rough-entries"];

/// The scenario of that name.
pub fn find(name: &str) -> Option<BuiltIn> {
    ALL.into_iter().chain(ROUGH).find(|built_in| built_in.name == name)
}
