//! Build script: lists every data file of `grammar/` and `scenarios/` so that the binary carries them.
#![expect(clippy::print_stdout, reason = "a build script speaks to cargo on standard output")]

use std::fmt::Write as _;
use std::path::{Path, PathBuf};
use std::{env, fs};

fn main() {
    let root = PathBuf::from(env::var_os("CARGO_MANIFEST_DIR").expect("cargo sets it"));
    let mut out = String::new();
    for (folder, name) in [("grammar", "GRAMMAR"), ("scenarios", "SCENARIOS")] {
        println!("cargo::rerun-if-changed={folder}");
        let mut files = Vec::new();
        collect(&root.join(folder), &mut files);
        files.sort();
        let _ = writeln!(out, "pub(crate) static {name}: &[(&str, &str)] = &[");
        for file in files {
            let inside = file.strip_prefix(&root).expect("found below the root");
            let inside = inside.to_string_lossy().replace('\\', "/");
            let _ = writeln!(out, "    ({inside:?}, include_str!({:?})),", file.to_string_lossy());
        }
        let _ = writeln!(out, "];");
    }
    let target = Path::new(&env::var_os("OUT_DIR").expect("cargo sets it")).join("embedded.rs");
    fs::write(target, out).expect("the build folder is writable");
}

fn collect(folder: &Path, files: &mut Vec<PathBuf>) {
    let Ok(entries) = fs::read_dir(folder) else { return };
    for path in entries.flatten().map(|e| e.path()) {
        if path.is_dir() {
            println!("cargo::rerun-if-changed={}", path.display());
            collect(&path, files);
        } else if path.extension().is_some_and(|e| e == "toml") {
            files.push(path);
        }
    }
}
