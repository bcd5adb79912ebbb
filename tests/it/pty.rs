//! A handful of tests on a terminal: prompt, Ctrl-C, Ctrl-D, going on with a case.
#![cfg(unix)]

use std::process::Command;

use rexpect::session::{PtySession, spawn_command};

use crate::support::{BINARY, Run};

/// Starts it on a terminal, in the folder of that run.
fn at_terminal(run: &Run, args: &[&str]) -> PtySession {
    let mut command = Command::new(BINARY);
    command
        .args(args)
        .env_clear()
        .env("TERM", "xterm")
        .env("COLUMNS", "96")
        .env("WHYTRIP_DATA", run.data())
        .current_dir(run.dir());
    spawn_command(command, Some(60_000)).unwrap()
}

#[test]
fn a_terminal_gets_a_prompt_and_ctrl_d_leaves_with_everything_saved() {
    let run = Run::new();
    let mut terminal = at_terminal(&run, &["attend"]);
    terminal.exp_string("NOTICE").unwrap();
    terminal.exp_string("is any of this so right now?").unwrap();
    terminal.exp_string("> ").unwrap();
    terminal.send_line("no").unwrap();
    terminal.exp_string("in your own words").unwrap();
    terminal.exp_string("> ").unwrap();
    // Ctrl-C gives the line up, not the call.
    terminal.send("the fryer fan is d").unwrap();
    terminal.send_control('c').unwrap();
    terminal.exp_string("line abandoned").unwrap();
    terminal.exp_string("> ").unwrap();
    terminal.send_line("the fryer fan is dead").unwrap();
    terminal.exp_string("Noted").unwrap();
    terminal.exp_string("> ").unwrap();
    terminal.send_control('d').unwrap();
    terminal.exp_string("is saved").unwrap();
    terminal.exp_eof().unwrap();
    // What was abandoned is not in the case; what was said is.
    let cases = run.again().args(["cases", "--json"]).go().status(0).json();
    assert_eq!(cases["cases"][0]["words"], "the fryer fan is dead");
    assert_eq!(cases["cases"][0]["state"], "open");
    // It goes on where it was: the complaint is not asked for again.
    let mut terminal = at_terminal(&run, &["attend", "--resume", "last"]);
    terminal.exp_string("NOTICE").unwrap();
    let asked = terminal.exp_string("> ").unwrap();
    assert!(!asked.contains("What is wrong?"), "{asked}");
    terminal.send_line("quit").unwrap();
    terminal.exp_string("is saved").unwrap();
    terminal.exp_eof().unwrap();
}

#[test]
fn a_killed_call_keeps_every_answer() {
    let run = Run::new();
    let mut terminal = at_terminal(&run, &["attend"]);
    terminal.exp_string("> ").unwrap();
    terminal.send_line("no").unwrap();
    terminal.exp_string("in your own words").unwrap();
    terminal.exp_string("> ").unwrap();
    terminal.send_line("the broiler fan is dead").unwrap();
    terminal.exp_string("Noted").unwrap();
    terminal.process_mut().kill(rexpect::process::Signal::SIGKILL).unwrap();
    let cases = run.again().args(["cases", "--json"]).go().status(0).json();
    assert_eq!(cases["cases"][0]["words"], "the broiler fan is dead");
}
