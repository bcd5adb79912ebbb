//! The one integration binary: a file per topic. Linking is what tests cost, so there is only one.
#![allow(clippy::unwrap_used, clippy::print_stdout, clippy::print_stderr, missing_docs, unreachable_pub)]

mod hand_made;
mod support;
mod walk;

mod calls;
mod chart_drawing;
mod checks;
mod cli;
mod compile;
mod decision_graph;
mod entries;
mod generated;
mod hear;
mod hear_shipped;
mod hear_site;
mod job;
mod knowledge;
mod laws_compile;
mod laws_explanations;
mod laws_graph;
mod laws_inference;
mod laws_knowledge;
mod laws_orders;
mod on_the_spot;
mod planner_instances;
mod planner_models;
mod planner_shipped;
mod planner_textbook;
mod power_up;
mod published;
mod published_arithmetic;
mod pty;
mod reckon;
mod reference;
mod rehearse;
mod safety;
mod session;
mod shipped_knowledge;
mod sources;
mod store;
mod tidy;
mod walk_along;
mod wiring;
mod wiring_readings;
mod yaml;
