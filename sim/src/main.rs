//! The command `strewn`.

fn main() -> std::process::ExitCode {
    strewn::cli::run(std::env::args_os())
}
