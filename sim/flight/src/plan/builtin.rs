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

/// All of them.
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

/// The scenario of that name.
pub fn find(name: &str) -> Option<BuiltIn> {
    ALL.into_iter().find(|built_in| built_in.name == name)
}
