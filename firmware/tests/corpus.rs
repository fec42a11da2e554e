//! Every input that fuzzing has kept, through what the fuzz targets do with it, on a stable
//! compiler.

#[path = "../../fuzz/firmware_bodies.rs"]
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
