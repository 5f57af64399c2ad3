//! The `dropwise` command.

fn main() -> std::process::ExitCode {
    dropwise_cli::run(std::env::args_os(), &mut dropwise_cli::Environment::of_process()).into()
}
