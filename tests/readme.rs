//! What the README shows is what the program prints.

#[test]
fn the_readme_tells_the_truth() {
    trycmd::TestCases::new()
        .env("HEARBACK_RECORD", "")
        // No choices of whoever runs the tests.
        .env("XDG_CONFIG_HOME", "nowhere")
        .register_bin("hearback", trycmd::cargo::cargo_bin("hearback"))
        .case("README.md");
}
