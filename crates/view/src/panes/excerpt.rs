//! What is wrong with a file, as a terminal shows it, made as narrow as a pane.
//!
//! The carets under a line tell more than anything else, so a line of a file is broken with what stands under it, at the same
//! columns; all other lines are broken between words.

/// Least columns of a file's line that are shown side by side.
const LEAST: usize = 12;

/// Text of a terminal in no more than so many columns.
pub(super) fn narrowed(text: &str, columns: usize) -> String {
    let mut lines = text.lines().peekable();
    let mut narrow = Vec::new();
    while let Some(line) = lines.next() {
        let Some((gutter, body)) = split(line) else {
            narrow.extend(broken(line, columns));
            continue;
        };
        let is_numbered = gutter.contains(|c: char| c.is_ascii_digit());
        let under = lines.next_if(|next| is_numbered && is_under(next)).and_then(split).map_or("", |(_, under)| under);
        narrow.extend(in_step(gutter, [body, under], columns.saturating_sub(gutter.chars().count()).max(LEAST)));
    }
    narrow.join("\n")
}

/// What stands before a line of a file (its number, if it is not below another, and a bar), and the line.
fn split(line: &str) -> Option<(&str, &str)> {
    let bar = line.find('|')?;
    let is_gutter = line[..bar].chars().all(|c| c == ' ' || c.is_ascii_digit()) && line[..bar].ends_with(' ');
    let end = bar + 1 + usize::from(line[bar + 1..].starts_with(' '));
    is_gutter.then(|| line.split_at(end))
}

/// Whether a line stands under another: its gutter is empty, and it is not.
fn is_under(line: &str) -> bool {
    split(line).is_some_and(|(gutter, body)| !gutter.contains(|c: char| c.is_ascii_digit()) && !body.is_empty())
}

/// A line of a file and what stands under it, broken at the same columns. What is said behind the carets goes below them where
/// there is no room beside them.
fn in_step(gutter: &str, [body, under]: [&str; 2], room: usize) -> Vec<String> {
    let blank: String = gutter.chars().map(|c| if c.is_ascii_digit() { ' ' } else { c }).collect();
    let marks = under.trim_end().rfind(['^', '-']).filter(|_| under.contains('^')).map_or(0, |last| last + 1);
    let (carets, said) = under.split_at(if under.chars().count() > room { marks } else { under.len() });
    let [body, carets] = [body, carets].map(|text| text.chars().collect::<Vec<char>>());
    let part = |text: &[char], at: usize| -> String { text.iter().skip(at * room).take(room).collect() };
    let mut lines = Vec::new();
    for at in 0..body.len().max(carets.len()).div_ceil(room).max(1) {
        lines.push(format!("{}{}", if at == 0 { gutter } else { &blank }, part(&body, at)));
        let carets = part(&carets, at);
        if !carets.trim().is_empty() {
            lines.push(format!("{blank}{carets}"));
        }
    }
    lines.extend(
        broken(said.trim(), room).into_iter().filter(|line| !line.is_empty()).map(|line| blank.clone() + &line),
    );
    lines
}

/// A line broken between words, or within one that is longer than a line; what follows is indented as the first is.
fn broken(line: &str, room: usize) -> Vec<String> {
    let indent: String = line.chars().take_while(|c| *c == ' ').take(room / 2).collect();
    let mut lines = vec![indent.clone()];
    let mut used = indent.len();
    for word in line.split(' ').filter(|word| !word.is_empty()) {
        let mut word: Vec<char> = word.chars().collect();
        if used > indent.len() && used + 1 + word.len() > room {
            lines.push(indent.clone());
            used = indent.len();
        }
        while used == indent.len() && used + word.len() > room {
            let rest = word.split_off((room - used).max(1).min(word.len()));
            lines.last_mut().into_iter().for_each(|line| line.extend(&word));
            lines.push(indent.clone());
            word = rest;
        }
        let gap = if used > indent.len() { " " } else { "" };
        used += gap.len() + word.len();
        lines.last_mut().into_iter().for_each(|line| line.extend(gap.chars().chain(word.iter().copied())));
    }
    lines
}

#[cfg(test)]
mod tests {
    use super::*;

    const TOLD: &str = "\
error: unknown key `dimeter`
 --> /home/of/somebody/with/long/names/scene.toml:3:11
  |
3 | blank = { shape = \"round\", dimeter = 30, length = 80 }
  |                            ^^^^^^^ not among those of [blank]
  |
  = help: write `diameter`, of which `dimeter` is one letter short";

    #[test]
    fn what_has_room_is_left_as_it_is() {
        assert_eq!(narrowed(TOLD, 100), TOLD);
    }

    /// The law: no line is too wide, every word is there, and each caret stands under the letter that it stood under.
    #[test]
    fn carets_stay_under_their_letters_however_narrow_the_pane_is() {
        for columns in 20..70 {
            let narrow = narrowed(TOLD, columns);
            assert!(narrow.lines().all(|line| line.chars().count() <= columns), "{columns}:\n{narrow}");
            let letters = |text: &str| text.replace([' ', '\n', '|'], "");
            let sorted = |text: &str| {
                let mut all: Vec<char> = letters(text).chars().collect();
                all.sort_unstable();
                all
            };
            assert_eq!(sorted(&narrow), sorted(TOLD), "{columns}:\n{narrow}");
            let lines: Vec<&str> = narrow.lines().collect();
            let over = lines.windows(2).flat_map(|pair| {
                let [above, under] = [pair[0], pair[1]].map(|line| line.chars().collect::<Vec<char>>());
                let is_caret = |place: &usize| under[*place] == '^';
                (0..under.len()).filter(is_caret).map(|place| above[place]).collect::<Vec<char>>()
            });
            assert_eq!(over.collect::<String>(), "dimeter", "{columns}:\n{narrow}");
        }
    }
}
