//! The manual page: one page for all commands, which names no page that does not exist.

use clap::Command;
use clap_mangen::Man;
use std::io::{self, Write};

/// The page in the form that `man` reads. Errors: those of the memory that it is written into.
pub fn manual(mut program: Command) -> io::Result<Vec<u8>> {
    program.build();
    let name = program.get_name().to_string();
    let commands: Vec<Command> =
        program.get_subcommands().filter(|command| !command.is_hide_set() && command.get_name() != "help").cloned().collect();
    let page = Man::new(program);
    let mut bytes = Vec::new();
    page.render_title(&mut bytes)?;
    page.render_name_section(&mut bytes)?;
    page.render_synopsis_section(&mut bytes)?;
    page.render_description_section(&mut bytes)?;
    page.render_options_section(&mut bytes)?;
    for command in commands {
        writeln!(bytes, ".SH \"{} {}\"", name.to_uppercase(), command.get_name().to_uppercase())?;
        let about = command.get_about().map(|about| about.to_string()).unwrap_or_default();
        // A line that begins with a dot or a quote would be a request.
        writeln!(bytes, "{}", about.replace('\\', "\\\\").replace('-', "\\-").trim_start_matches(['.', '\'']))?;
        let mut section = Vec::new();
        let page = Man::new(command);
        page.render_synopsis_section(&mut section)?;
        page.render_options_section(&mut section)?;
        bytes.extend_from_slice(String::from_utf8_lossy(&section).replace(".SH ", ".SS ").as_bytes());
    }
    page.render_version_section(&mut bytes)?;
    Ok(bytes)
}

#[cfg(test)]
mod tests {
    use super::*;
    use clap::Arg;

    #[test]
    fn one_page_has_all_commands_and_names_no_other() {
        let run = Command::new("run").about("Run a study.").arg(Arg::new("file").required(true).help("The study."));
        let program =
            Command::new("hosewright").about("What-if studies.").version("1").subcommands([run, Command::new("x").hide(true)]);
        let text = String::from_utf8(manual(program).expect("a page")).expect("text");
        assert!(text.contains(".SH \"HOSEWRIGHT RUN\"\nRun a study.\n") && text.contains(".SS SYNOPSIS"), "{text}");
        assert!(!text.contains("(1)") && !text.contains("HOSEWRIGHT X") && !text.contains("HOSEWRIGHT HELP"), "{text}");
    }
}
