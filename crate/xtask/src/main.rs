//! `cargo xtask`: builds the page, serves it, runs every check and measures.

mod bench;
mod browser;
mod bundle;
mod debian;
mod page;
mod readers;
mod run;
mod serve;
mod size;
mod test;
mod tidy;
mod toolchain;
mod tree;

use std::process::ExitCode;

const HELP: &str = "\
cargo xtask <command>

  build               build the page into dist/
  serve [--port N]    build the page and serve it on this machine alone
                      (port 8137, or the next free one)
  test [STEP...]      run every check in order, or only the named ones:
                      {steps}
  bench               measure the core and the page, medians in one table
  picture             draw the README's picture anew, with the page in dist/
  help                this text
";

/// What the command line asks for.
enum Command {
    Build,
    Serve(Option<u16>),
    Test(Vec<String>),
    Bench,
    Picture,
    Help,
}

fn main() -> ExitCode {
    let args: Vec<String> = std::env::args().skip(1).collect();
    let command = match parse(&args) {
        Ok(command) => command,
        Err(message) => {
            eprintln!("{message}\n\n{}", help());
            return ExitCode::from(2);
        }
    };
    let outcome = match command {
        Command::Build => page::build().map(|_| ()),
        Command::Serve(port) => page::build().and_then(|dist| serve::serve(&dist, port)),
        Command::Test(steps) => test::test(&steps),
        Command::Bench => bench::bench(),
        Command::Picture => browser::draw_picture(&run::root().join("examples/flour-fold.png")),
        Command::Help => {
            print!("{}", help());
            Ok(())
        }
    };
    match outcome {
        Ok(()) => ExitCode::SUCCESS,
        Err(error) => {
            eprintln!("\nxtask: {error:#}");
            ExitCode::FAILURE
        }
    }
}

fn help() -> String {
    HELP.replace("{steps}", &test::step_names().join(" "))
}

/// Reads the command line; an error is a sentence for the person who typed it.
fn parse(args: &[String]) -> Result<Command, String> {
    let words: Vec<&str> = args.iter().map(String::as_str).collect();
    match words.as_slice() {
        ["build"] => Ok(Command::Build),
        ["serve"] => Ok(Command::Serve(None)),
        ["serve", "--port", port] => match port.parse() {
            Ok(number) if number > 0 => Ok(Command::Serve(Some(number))),
            _ => Err(format!("--port {port}: a number from 1 to 65535 is needed")),
        },
        ["serve", "--port"] => Err("--port: a number from 1 to 65535 is needed".into()),
        ["test", steps @ ..] => {
            let known = test::step_names();
            match steps.iter().find(|step| !known.contains(step)) {
                Some(step) => Err(format!("test: no step `{step}`")),
                None => Ok(Command::Test(args[1..].to_vec())),
            }
        }
        ["bench"] => Ok(Command::Bench),
        ["picture"] => Ok(Command::Picture),
        [] | ["help" | "--help" | "-h"] => Ok(Command::Help),
        ["build" | "serve" | "bench" | "picture" | "help", extra, ..] => {
            Err(format!("{}: `{extra}` is not known here", words[0]))
        }
        [unknown, ..] => Err(format!("no command `{unknown}`")),
    }
}

#[cfg(test)]
mod tests {
    use super::{Command, help, parse};

    fn parsed(line: &str) -> Result<Command, String> {
        let args: Vec<String> = line.split_whitespace().map(String::from).collect();
        parse(&args)
    }

    #[test]
    fn commands_are_read() {
        assert!(matches!(parsed("build"), Ok(Command::Build)));
        assert!(matches!(parsed("serve"), Ok(Command::Serve(None))));
        assert!(matches!(parsed("serve --port 9000"), Ok(Command::Serve(Some(9000)))));
        assert!(matches!(parsed("test"), Ok(Command::Test(steps)) if steps.is_empty()));
        assert!(matches!(parsed("test size"), Ok(Command::Test(steps)) if steps == ["size"]));
        assert!(matches!(parsed("bench"), Ok(Command::Bench)));
        assert!(matches!(parsed(""), Ok(Command::Help)));
        assert!(matches!(parsed("--help"), Ok(Command::Help)));
    }

    #[test]
    fn what_is_not_known_is_named() {
        for (line, named) in [
            ("bulid", "`bulid`"),
            ("build now", "`now`"),
            ("serve --prot 1", "`--prot`"),
            ("serve --port x", "--port x"),
            ("serve --port 0", "--port 0"),
            ("serve --port", "--port"),
            ("test sise", "`sise`"),
        ] {
            let message = parsed(line).err().unwrap_or_else(|| panic!("`{line}` passed"));
            assert!(message.contains(named), "`{line}` answers `{message}`, which lacks {named}");
        }
    }

    #[test]
    fn help_names_every_command_and_step() {
        let text = help();
        for word in ["build", "serve", "test", "bench", "picture", "help"] {
            assert!(text.contains(&format!("\n  {word}")), "{word}");
        }
        for step in crate::test::step_names() {
            assert!(text.contains(step), "{step}");
        }
    }
}
