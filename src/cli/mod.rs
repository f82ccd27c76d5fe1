//! The commands: reads files and arguments, calls the rooms, writes files, prints. No computation here.
//!
//! One file a command; this file holds the list of commands and the exit statuses:
//! 0 done, 1 it could not be done (the message says what was wrong and what to do; a value that cannot be read, a length
//! without its unit for example, is one of these), 2 wrong usage: a command or an option that is not there.
#![allow(clippy::print_stdout, clippy::print_stderr, reason = "this room is the program's only printer")]

mod capture;
mod check;
mod demo;
mod draft;
mod edit;
mod expect;
mod export;
mod grid;
mod open;
mod output;
mod print;
mod replay;
mod shelf;

use clap::error::{ContextKind, ErrorKind};
use clap::{Parser, Subcommand};
use std::error::Error as _;
use std::process::ExitCode;

#[derive(Debug, Parser)]
#[command(
    name = "onfold",
    version,
    about = "From a photograph of a worn garment to a true, full-scale half pattern."
)]
struct Arguments {
    #[command(subcommand)]
    command: Command,
}

#[derive(Debug, Subcommand)]
enum Command {
    /// Write the calibration sheets to print, with a page that tells how to use them
    Grid(grid::Grid),
    /// Trace a garment from a photograph into a new pattern folder
    Capture(capture::Capture),
    /// Replay the steps of a pattern folder's recipe
    Draft(draft::Draft),
    /// Add a step to the recipe, or take the last one back
    Edit(edit::Edit),
    /// Check the drafted pattern: seams, notches, corners, holes, turned edges
    Check(check::Check),
    /// Write the full-scale pattern as a PDF, tiled or for a roll
    Print(print::Print),
    /// Write the traced, folded or drafted pieces as JSON, SVG, DXF, HP-GL, PDF or PNG
    Export(export::Export),
    /// Open the page on this computer: photograph, correct, alter, print
    Open(open::Open),
    /// Keep patterns on a shop's shelf: add, find, show, compare, check, print a catalogue
    Shelf(shelf::Shelf),
    /// Go the whole way on a photograph that ships with the program
    Demo(demo::Demo),
}

/// Reads the command line, runs the command, prints what went wrong.
#[must_use]
pub fn run() -> ExitCode {
    let arguments = match Arguments::try_parse() {
        Ok(arguments) => arguments,
        Err(error) => return refused(&error),
    };
    let done = match arguments.command {
        Command::Grid(c) => c.run(),
        Command::Capture(c) => c.run(),
        Command::Draft(c) => c.run(),
        Command::Edit(c) => c.run(),
        Command::Check(c) => c.run(),
        Command::Print(c) => c.run(),
        Command::Export(c) => c.run(),
        Command::Open(c) => c.run(),
        Command::Shelf(c) => c.run(),
        Command::Demo(c) => c.run(),
    };
    match done {
        Ok(()) => ExitCode::SUCCESS,
        Err(error) => {
            eprintln!("onfold: {error:#}");
            ExitCode::from(1)
        }
    }
}

/// A command line that was not taken: help and version are what was asked for, a value that could not be read is bad
/// input, everything else is wrong usage.
fn refused(error: &clap::Error) -> ExitCode {
    if error.kind() == ErrorKind::ValueValidation
        && let (Some(option), Some(why)) = (error.get(ContextKind::InvalidArg), error.source())
    {
        eprintln!("onfold: {option}: {why}");
        return ExitCode::from(1);
    }
    // Nothing can be done where not even the message can be printed.
    let _ = error.print();
    match error.kind() {
        ErrorKind::DisplayHelp | ErrorKind::DisplayVersion => ExitCode::SUCCESS,
        _ => ExitCode::from(2),
    }
}
