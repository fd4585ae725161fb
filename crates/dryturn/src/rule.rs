//! `dryturn rule`: what a rule means.

use dryturn_check::Rule;
use dryturn_report::{plain, rule_list, rule_page};

use crate::{REFUSED, print, tell, width};

/// Prints the page of a rule, or without a name the list of all.
pub(crate) fn explain(name: Option<&str>) -> u8 {
    let Some(name) = name else { return print(&rule_list(width())) };
    let Some(rule) = Rule::named(name) else {
        let help = match Rule::nearest(name) {
            Some(near) => format!("did you mean `{near}`?"),
            None => "`dryturn rule` lists them all".to_owned(),
        };
        tell(&format!("error: no rule is called `{}`; {help}", plain(name)));
        return REFUSED;
    };
    print(&rule_page(rule, width()))
}
