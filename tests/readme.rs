//! What the README shows is what the program prints.

#[test]
fn the_readme_tells_the_truth() {
    trycmd::TestCases::new()
        .env("HEARBACK_RECORD", "")
        .register_bin("hearback", trycmd::cargo::cargo_bin("hearback"))
        .case("README.md");
}
