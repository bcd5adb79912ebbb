//! The `whytrip` program: hands its arguments to the library and exits with the status that it gets back.

fn main() -> std::process::ExitCode {
    whytrip::cli::run(std::env::args_os()).into()
}
