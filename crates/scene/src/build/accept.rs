//! `[[accept]]`.

use crate::model::Accept;
use crate::read::Table;
use crate::schema::nearest_word;

pub(super) fn accept(root: &Table<'_>, programs: usize, rules: Option<&[&str]>) -> Vec<Accept> {
    root.tables("accept", "accept[]").iter().map(|table| entry(table, programs, rules)).collect()
}

fn entry(table: &Table<'_>, programs: usize, rules: Option<&[&str]>) -> Accept {
    let rule = word(table, "rule", "the rule, for example rule = \"near-miss\"");
    let why = word(table, "why", "why it is right, for example why = \"seen at the machine\"");
    if table.has("rule") && rules.is_some_and(|rules| !rules.contains(&rule.as_str())) {
        let near = nearest_word(&rule, rules.unwrap_or_default().iter().copied());
        let help = near.map_or("`dryturn rule` lists them all".to_owned(), |near| format!("did you mean \"{near}\"?"));
        table.problem("rule", format!("no rule is called \"{rule}\""), Some(help));
    }
    if table.has("why") && why.trim().is_empty() {
        table.problem("why", "the reason is empty".into(), Some("say who looked at it, and why it is right".into()));
    }
    Accept {
        rule,
        program: table.count("program", 1, programs.max(1) as u64).map(|number| number as u32),
        lines: table.get("lines").and_then(|item| item.lines()),
        why,
    }
}

fn word(table: &Table<'_>, key: &str, example: &str) -> String {
    if !table.has(key) {
        table.missing(key, example);
    }
    table.text(key).unwrap_or_default().to_owned()
}
