//! The commands as a person or a script meets them: help, versions, exit statuses.

use crate::support::Run;

#[test]
fn version_is_one_line() {
    let out = Run::new().arg("--version").go().status(0).quiet();
    assert_eq!(out.stdout, concat!("whytrip ", env!("CARGO_PKG_VERSION"), "\n"));
}
