//! Golden files: compared, or written anew on request.

use std::path::{Path, PathBuf};

/// A file under `tests/data`.
pub(crate) fn data(name: &str) -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/data").join(name)
}

/// Compares with the golden file; `GOLDEN=overwrite` writes it instead.
#[track_caller]
pub(crate) fn golden(file: &Path, shown: &str) {
    if std::env::var("GOLDEN").is_ok_and(|v| v == "overwrite") {
        std::fs::write(file, shown).expect("the golden file can be written");
        return;
    }
    let expected = std::fs::read_to_string(file).unwrap_or_default().replace("\r\n", "\n");
    if expected != shown {
        let place = expected.lines().zip(shown.lines()).take_while(|(a, b)| a == b).count();
        let near = |text: &str| text.lines().skip(place).take(4).collect::<Vec<_>>().join("\n");
        panic!(
            "{} differs from line {}\n--- expected\n{}\n--- shown\n{}\n(GOLDEN=overwrite accepts what is shown)",
            file.display(),
            place + 1,
            near(&expected),
            near(shown)
        );
    }
}
