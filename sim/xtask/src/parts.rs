//! The parts of a release, in the order in which they are made.

use crate::boards::TARGETS as BOARD_TARGETS;
use crate::release::Release;
use crate::{boards, licences, listening, program, sbom, web, wheel};
use anyhow::Result;

/// One part.
pub struct Part {
    /// What `--without` calls it.
    pub name: &'static str,
    /// Its folder in the release.
    pub folder: &'static str,
    /// What it puts into the release.
    pub what: &'static str,
    /// What it needs besides Rust, and how to get it.
    pub tools: &'static [Tool],
    /// The targets of the compiler that it needs besides this machine's.
    pub targets: &'static [&'static str],
    /// Makes it.
    pub make: fn(&Release) -> Result<()>,
}

/// A program that a part runs.
pub struct Tool {
    /// Its name on the path.
    pub program: &'static str,
    /// How to get it.
    pub remedy: &'static str,
}

const BASH: Tool = Tool { program: "bash", remedy: "install bash" };
const NODE: Tool = Tool { program: "node", remedy: "install Node.js 18 or later" };
const MDBOOK: Tool =
    Tool { program: "mdbook", remedy: "`cargo install --locked --version 0.5.4 mdbook`" };
const MATURIN: Tool = Tool { program: "maturin", remedy: "`pip install maturin`" };

/// Of a page in a browser.
const PAGE_TARGET: &str = "wasm32-unknown-unknown";

/// All of them. `listening` runs the program; `licences` and `sbom` describe what is there.
pub const PARTS: [Part; 8] = [
    Part {
        name: "program",
        folder: "bin",
        what: "program, manual pages, completions",
        tools: &[],
        targets: &[],
        make: program::make,
    },
    Part {
        name: "page",
        folder: "page",
        what: "the instructor's page, one file",
        tools: &[BASH, NODE],
        targets: &[PAGE_TARGET],
        make: web::page,
    },
    Part {
        name: "boards",
        folder: "boards",
        what: "UF2 files for Pico and Pico 2",
        tools: &[BASH],
        targets: &BOARD_TARGETS,
        make: boards::make,
    },
    Part {
        name: "python",
        folder: "python",
        what: "wheel and source for pip",
        tools: &[MATURIN],
        targets: &[],
        make: wheel::make,
    },
    Part {
        name: "book",
        folder: "book",
        what: "the book as web pages",
        tools: &[MDBOOK],
        targets: &[],
        make: web::book,
    },
    Part {
        name: "listening",
        folder: "listening",
        what: "six clips and a page that plays them",
        tools: &[],
        targets: &[],
        make: listening::make,
    },
    Part {
        name: "licences",
        folder: "licences",
        what: "licences of everything it is built from",
        tools: &[],
        targets: &[],
        make: licences::make,
    },
    Part {
        name: "sbom",
        folder: "sbom",
        what: "bills of materials, CycloneDX 1.5",
        tools: &[],
        targets: &[],
        make: sbom::make,
    },
];
