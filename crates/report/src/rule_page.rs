//! What a rule means, for people: the page of one rule, and the list of all.

use std::fmt::Write;

use dryturn_check::{Cost, Rule};

use crate::markdown::escaped;
use crate::text::wrapped;

/// Where the texts of a page begin, characters.
const MARGIN: usize = 8;

/// A rule in full, ended by a line feed; the width is taken as 50 … 100 characters.
pub fn rule_page(rule: &Rule, width: usize) -> String {
    let width = width.clamp(50, 100);
    let room = width - MARGIN;
    let summary = wrapped(&sentence(rule.summary), width).join("\n");
    let mut page = format!("{}\n{summary}\n\n", rule.name);
    let costs = format!("{}; {} at the most.", told_cost(rule.cost), an(rule.gravest.word()));
    let mut part = |name: &str, text: &str| {
        for (index, line) in wrapped(text, room).iter().enumerate() {
            let name = if index == 0 { name } else { "" };
            let _ = writeln!(page, "{name:MARGIN$}{line}");
        }
    };
    part("When", rule.when);
    part("Why", rule.why);
    part("Costs", &costs);
    part("Quiet", rule.quiet);
    for (index, key) in rule.keys.iter().enumerate() {
        part(if index == 0 { "Keys" } else { "" }, key);
    }
    page += "\nTo accept what it finds, write in the scene:\n\n";
    for line in rule.how_to_accept().lines() {
        let _ = writeln!(page, "  {line}");
    }
    page
}

/// The same as markdown.
pub(crate) fn rule_markdown(rule: &Rule) -> String {
    let mut page = format!("**{}**: {}\n\n", rule.name, escaped(rule.summary));
    for (name, text) in [("When", rule.when), ("Why", rule.why), ("Quiet", rule.quiet)] {
        let _ = write!(page, "**{name}:** {}\n\n", escaped(text));
    }
    if !rule.keys.is_empty() {
        let keys: Vec<String> = rule.keys.iter().map(|key| format!("`{key}`")).collect();
        let _ = write!(page, "**Keys:** {}\n\n", keys.join(", "));
    }
    let _ = write!(page, "To accept what it finds:\n\n```toml\n{}```\n", rule.how_to_accept());
    page
}

/// All rules, a line each, grouped by who pays, the dearest first.
pub fn rule_list(width: usize) -> String {
    let widest = Rule::all().map(|rule| rule.name.len()).max().unwrap_or(0);
    let room = width.clamp(60, 120) - widest - 4;
    let mut list = String::new();
    for cost in Cost::ALL {
        let _ = writeln!(list, "{}", told_cost(cost));
        for rule in Rule::all().filter(|rule| rule.cost == cost) {
            for (index, line) in wrapped(rule.summary, room).iter().enumerate() {
                let name = if index == 0 { rule.name } else { "" };
                let _ = writeln!(list, "  {name:widest$}  {line}");
            }
        }
        list.push('\n');
    }
    list + "`dryturn rule NAME` tells more of one.\n"
}

fn told_cost(cost: Cost) -> &'static str {
    match cost {
        Cost::Person => "May hurt someone",
        Cost::Machine => "Breaks or overtaxes the machine",
        Cost::Cutter => "Burns or breaks the cutter",
        Cost::Piece => "Spoils the piece",
        Cost::Finish => "Costs time or finish, or leaves less known",
    }
}

fn an(word: &str) -> String {
    if word == "error" { format!("an {word}") } else { format!("a {word}") }
}

/// A few words as a sentence.
fn sentence(words: &str) -> String {
    let mut letters = words.chars();
    let first = letters.next().into_iter().flat_map(char::to_uppercase);
    first.chain(letters).chain(['.']).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_page_keeps_to_its_width_and_tells_all() {
        for rule in Rule::all() {
            for width in [0, 50, 72, 300] {
                let page = rule_page(rule, width);
                let long = page.lines().find(|line| line.chars().count() > width.clamp(50, 100));
                assert_eq!(long, None, "{}", rule.name);
            }
            let page = rule_page(rule, 100).split_whitespace().collect::<Vec<_>>().join(" ");
            for text in [rule.when, rule.why, rule.quiet] {
                assert!(page.contains(text), "{page}");
            }
        }
    }

    #[test]
    fn the_list_holds_every_rule_once() {
        let list = rule_list(80);
        for rule in Rule::all() {
            assert_eq!(list.lines().filter(|line| line.split_whitespace().next() == Some(rule.name)).count(), 1);
        }
        assert!(list.starts_with("May hurt someone\n  cutter-hits"), "{list}");
    }
}
