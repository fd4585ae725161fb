//! Worked examples of "The NIST RS274NGC Interpreter, Version 3" (Kramer, Proctor, Messina, NISTIR 6556, 2000); section
//! numbers are the report's. Those on arcs, cycles and offsets stand in the corpus, one a file.

use dryturn_program::{Setup, ToolOffset, read};

use super::{at_zero, near, quiet, quiet_with};

/// Printed as 2.3026.
const LN_TEN: f64 = std::f64::consts::LN_10;

/// Section C.2: the values printed for n0020 to n0410, and an expression for each; the report's own text is not kept
/// here.
const EXPRESSIONS: [(&str, f64); 40] = [
    ("[1+2]", 3.0),
    ("[1-2]", -1.0),
    ("[1--3]", 4.0),
    ("[2/5]", 0.40),
    ("[3.0*5]", 15.0),
    ("[0 or 0]", 0.0),
    ("[0 or 1]", 1.0),
    ("[1 or 1]", 1.0),
    ("[2 and 0]", 0.0),
    ("[0 and 0]", 0.0),
    ("[2 and 7.1]", 1.0),
    ("[0 xor 0]", 0.0),
    ("[0 xor 1]", 1.0),
    ("[1 xor 1]", 0.0),
    ("[15 mod 4.0]", 3.0),
    ("[1 + 2 * 3 - 4 / 5]", 6.2),
    ("sin[30]", 0.5),
    ("cos[0.0]", 1.0),
    ("tan[60.0]", 1.7321),
    ("sqrt[3]", 1.7321),
    ("atan[1.7321]/[1.0]", 60.0),
    ("asin[1.0]", 90.0),
    ("acos[0.707107]", 45.0),
    ("abs[20.0]", 20.0),
    ("abs[-1.23]", 1.23),
    ("round[-0.499]", 0.0),
    ("round[-0.5001]", -1.0),
    ("round[2.444]", 2.0),
    ("round[9.975]", 10.0),
    ("fix[-0.499]", -1.0),
    ("fix[-0.5001]", -1.0),
    ("fix[2.444]", 2.0),
    ("fix[9.975]", 9.0),
    ("fup[-0.499]", 0.0),
    ("fup[-0.5001]", 0.0),
    ("fup[2.444]", 3.0),
    ("fup[9.975]", 10.0),
    ("exp[2.3026]", 10.0),
    ("ln[10.0]", LN_TEN),
    ("[2 ** 3.0]", 8.0),
];

#[test]
fn expressions_have_the_printed_values() {
    let text: String = EXPRESSIONS.iter().map(|(expression, _)| format!("x {expression}\n")).collect();
    let program = quiet(&format!("g21 g1 f60\n{text}"));
    assert_eq!(program.blocks.len(), EXPRESSIONS.len());
    for (block, (expression, printed)) in program.blocks.iter().zip(EXPRESSIONS) {
        // The values are printed to four decimals, from arguments of as many digits.
        assert!((block.to[0] - printed).abs() <= 1e-3, "{expression} is {}, not {printed}", block.to[0]);
    }
}

#[test]
fn all_orders_of_a_line_mean_the_same() {
    // Section 3.3.6: 120 orders of five items.
    let items = ["g40", "g1", "#3=15", "(foo)", "#4=-7.0"];
    let mut orders = 0;
    let mut first = None;
    permutations(&mut items.to_vec(), 0, &mut |order| {
        orders += 1;
        let text = format!("{}\nX[#3+#4] F100", order.join(" "));
        let program = quiet(&text);
        let found = (program.blocks.clone(), program.parameters.clone());
        assert_eq!(*first.get_or_insert_with(|| found.clone()), found, "{text}");
    });
    assert_eq!(orders, 120);
    let (blocks, parameters) = first.unwrap();
    assert_eq!(blocks[0].to[0], 8.0);
    assert_eq!((parameters[&3], parameters[&4]), (15.0, -7.0));
}

fn permutations<'t>(items: &mut Vec<&'t str>, fixed: usize, visit: &mut impl FnMut(&[&'t str])) {
    if fixed == items.len() {
        visit(items);
        return;
    }
    for index in fixed..items.len() {
        items.swap(fixed, index);
        permutations(items, fixed + 1, visit);
        items.swap(fixed, index);
    }
}

#[test]
fn the_session_of_table_10() {
    // Section 5.1.2: Z reads 0.5, then -0.5 once the length of 1.0 is in force, and the length stays over M2.
    let setup = Setup { cutter: Some(1), stickouts: [(1, 0.0), (2, 1.0)].into(), ..at_zero() };
    let text = "g21 g1 x3 y1 f20.0\ng2 x[6-[4*3/2]] r 7.01 z0.5\nt2\nm6 g43 h2";
    let program = quiet_with(text, &setup);
    let arc = program.arcs[0];
    near(arc.center[0], 1.5, 5e-5);
    near(arc.center[1], 7.8476, 5e-5);
    assert!(arc.sweep < 0.0);
    let shown = program.shown.last().unwrap();
    near(program.end[2].unwrap() - shown.offset[2], -0.5, 1e-12);
    assert_eq!(program.end_tool_offset, ToolOffset::Of(2));

    let setup = Setup { start: program.end, cutter: program.end_cutter, tool_offset: program.end_tool_offset, ..setup };
    let program = quiet_with("g1 x asin[0.5] f20", &setup);
    let end = program.end.map(Option::unwrap);
    near(end[0], 30.0, 1e-9);
    assert_eq!((end[1], end[2]), (1.0, -0.5));
}

#[test]
fn a_word_that_is_no_function() {
    // Section 5.1.2, Table 10: an error.
    assert!(read(b"g1 x asim[0.5]\nm2", &at_zero()).stopped());
}

#[test]
fn a_parameter_changes_after_the_line_is_read() {
    // Section 3.3.3: #3 was 15.
    let program = quiet("#3=15\n#3=6 G1 x#3 F100\nx[#3+100]");
    assert_eq!((program.blocks[0].to[0], program.blocks[1].to[0]), (15.0, 106.0));
}
