//! Runs every input kept by fuzzing through the fuzz targets, on a stable compiler.

#[path = "../fuzz/bodies.rs"]
mod bodies;

use std::fs;
use std::path::Path;

#[test]
fn the_corpus_of_every_fuzz_target_passes() {
    for (name, target) in bodies::TARGETS {
        let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("../fuzz/corpus").join(name);
        let mut inputs = 0;
        for entry in fs::read_dir(&folder).expect("every target has a corpus") {
            let path = entry.expect("a folder can be listed").path();
            target(&fs::read(&path).expect("it can be read"));
            inputs += 1;
        }
        assert!(inputs >= 2, "{} holds {inputs} inputs", folder.display());
    }
}

#[test]
fn every_fuzz_target_has_its_program_and_its_corpus() {
    let fuzz = Path::new(env!("CARGO_MANIFEST_DIR")).join("../fuzz");
    let manifest = fs::read_to_string(fuzz.join("Cargo.toml")).expect("it is there");
    for (name, _) in bodies::TARGETS {
        assert!(
            manifest.contains(&format!("fuzz_targets/{name}.rs")),
            "{name} is not in fuzz/Cargo.toml"
        );
        assert!(fuzz.join(format!("fuzz_targets/{name}.rs")).exists());
    }
}
