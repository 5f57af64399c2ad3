//! The command as a user meets it, through its library: arguments in; standard output, standard error and exit code out.

mod asked;
mod bad_files;
mod bent;
mod buying;
mod damaged;
mod drawing;
mod drawings_in;
mod first_job;
mod frame;
mod inch_paper;
mod interface;
mod misuse;
mod near_thickness;
mod nesting;
mod outfit;
mod paper;
mod pdf_paths;
mod rack;
mod rack_pages;
mod recipes;
mod seeded_faults;
#[path = "../../../dropwise-paper/tests/seen/mod.rs"]
mod seen;
mod shop;
mod steering;
mod stranger;
mod tools;
