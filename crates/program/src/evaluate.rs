//! Formulas to numbers (NISTIR 6556 sections 3.3.2.2 to 3.3.2.4). Angles are in degrees.
//!
//! That MOD is never negative and ATAN goes over the full circle is from memory.

use dryturn_geom::angle;

use crate::listing::{Formula, Function, LARGEST, Line, Operator, Step, plain_name};

/// Where the values of parameters come from.
pub(crate) trait Parameters {
    /// The value of a numbered parameter.
    fn numbered(&mut self, index: u16) -> Result<f64, String>;
    /// The value of a named parameter, its name in lower case.
    fn named(&mut self, name: &str) -> Result<f64, String>;
}

/// Highest parameter number (NISTIR 6556 section 3.2.1).
const HIGHEST: u16 = 5399;

/// Whole to within this (NISTIR 6556 section 3.3.2.1).
const WHOLE: f64 = 1e-4;

/// The value of a formula of a line, finite and at most [`LARGEST`] in size.
pub(crate) fn value(
    line: &Line,
    text: &[u8],
    formula: Formula,
    parameters: &mut impl Parameters,
    stack: &mut Vec<f64>,
) -> Result<f64, String> {
    stack.clear();
    let steps = &line.steps[formula.start as usize..formula.end as usize];
    for &step in steps {
        let result = match step {
            Step::Number(value) => value,
            Step::Parameter => parameters.numbered(index_of(pop(stack))?)?,
            Step::Named(name) => parameters.named(&plain_name(&text[name.start as usize..name.end as usize]))?,
            Step::Negate => -pop(stack),
            Step::Function(function) => apply(function, pop(stack))?,
            Step::Binary(operator) => {
                let right = pop(stack);
                combine(operator, pop(stack), right)?
            }
        };
        if result.is_nan() || result.abs() > LARGEST {
            return Err("the result is too large a number".to_owned());
        }
        stack.push(result);
    }
    Ok(pop(stack))
}

/// The formula grammar never takes more than it has put.
fn pop(stack: &mut Vec<f64>) -> f64 {
    debug_assert!(!stack.is_empty());
    stack.pop().unwrap_or(0.0)
}

/// A number as the index of a parameter.
pub(crate) fn index_of(value: f64) -> Result<u16, String> {
    let nearest = value.round();
    if (value - nearest).abs() > WHOLE {
        return Err(format!("a parameter's index is a whole number, not {value}"));
    }
    if !(1.0..=f64::from(HIGHEST)).contains(&nearest) {
        return Err(format!("parameters are numbered 1 to {HIGHEST}, there is no {nearest}"));
    }
    Ok(nearest as u16)
}

fn apply(function: Function, value: f64) -> Result<f64, String> {
    let in_range = |fits: bool, name: &str| {
        if fits { Ok(()) } else { Err(format!("{name} has no value at {value}")) }
    };
    let result = match function {
        Function::Abs => value.abs(),
        Function::Acos => {
            in_range(value.abs() <= 1.0, "ACOS")?;
            angle::degrees(angle::acos(value))
        }
        Function::Asin => {
            in_range(value.abs() <= 1.0, "ASIN")?;
            angle::degrees(angle::asin(value))
        }
        Function::Cos => angle::sin_cos(angle::radians(value)).1,
        Function::Exp => libm::exp(value),
        Function::Fix => value.floor(),
        Function::Fup => value.ceil(),
        Function::Ln => {
            in_range(value > 0.0, "LN")?;
            libm::log(value)
        }
        Function::Round => value.round(),
        Function::Sin => angle::sin_cos(angle::radians(value)).0,
        Function::Sqrt => {
            in_range(value >= 0.0, "SQRT")?;
            value.sqrt()
        }
        Function::Tan => angle::tan(angle::radians(value)),
    };
    Ok(result)
}

fn combine(operator: Operator, left: f64, right: f64) -> Result<f64, String> {
    let truth = |holds: bool| f64::from(u8::from(holds));
    let (left_true, right_true) = (left != 0.0, right != 0.0);
    let result = match operator {
        Operator::Power if left < 0.0 && right.fract() != 0.0 => {
            return Err(format!("the negative number {left} has no power {right}"));
        }
        Operator::Power if left == 0.0 && right < 0.0 => return Err("a division by zero".to_owned()),
        Operator::Power => libm::pow(left, right),
        Operator::Times => left * right,
        Operator::Over | Operator::Mod if right == 0.0 => return Err("a division by zero".to_owned()),
        Operator::Over => left / right,
        Operator::Mod => {
            let rest = left % right;
            if rest < 0.0 { rest + right.abs() } else { rest }
        }
        Operator::Plus => left + right,
        Operator::Minus => left - right,
        Operator::And => truth(left_true && right_true),
        Operator::Or => truth(left_true || right_true),
        Operator::Xor => truth(left_true != right_true),
        Operator::Equal => truth(left == right),
        Operator::NotEqual => truth(left != right),
        Operator::Greater => truth(left > right),
        Operator::GreaterOrEqual => truth(left >= right),
        Operator::Less => truth(left < right),
        Operator::LessOrEqual => truth(left <= right),
        Operator::Atan => angle::degrees(angle::atan2(left, right)),
    };
    Ok(result)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::listing::{Options, parse_line};

    struct NoParameters;

    impl Parameters for NoParameters {
        fn numbered(&mut self, index: u16) -> Result<f64, String> {
            Ok(f64::from(index) * 10.0)
        }
        fn named(&mut self, name: &str) -> Result<f64, String> {
            Ok(name.len() as f64)
        }
    }

    fn evaluated(text: &str) -> Result<f64, String> {
        let text = format!("X{text}");
        let line = parse_line(text.as_bytes(), 1, Options::default());
        assert!(line.diagnostics.iter().all(|one| one.severity == crate::Severity::Note), "{text}: {line:?}");
        let word = line.words[0];
        word.formula.map_or(Ok(word.value), |formula| {
            value(&line, text.as_bytes(), formula, &mut NoParameters, &mut Vec::new())
        })
    }

    #[track_caller]
    fn is(text: &str, expected: f64) {
        let found = evaluated(text).unwrap();
        assert!((found - expected).abs() < 1e-9, "{text} is {found}");
    }

    #[test]
    fn operators_by_strength_then_from_the_left() {
        // NISTIR 6556 section 3.3.2.3.
        is("[2.0 / 3 * 1.5 - 5.5 / 11.0]", 0.5);
        is("[2 ** 3 ** 2]", 64.0);
        is("[10 - 4 - 3]", 3.0);
        is("[1 + 2 * 3 ** 2]", 19.0);
        is("[7 MOD 4 * 2]", 6.0);
        is("[-7 mod 4]", 1.0);
        is("[1 --3]", 4.0);
        is("[1 AND 0 + 5]", 5.0);
        is("[0 OR 2 XOR 1]", 0.0);
    }

    #[test]
    fn comparisons_make_logic_weakest() {
        is("[1 LT 2 AND 3 GT 2]", 1.0);
        is("[1 EQ 2 OR 2 GE 2]", 1.0);
        is("[1 + 1 LE 1]", 0.0);
        is("[[1 NE 2] + 5]", 6.0);
    }

    #[test]
    fn functions_by_the_book() {
        // NISTIR 6556 section 3.3.2.4: FIX and FUP on both sides of zero.
        is("FIX[2.8]", 2.0);
        is("FIX[-2.8]", -3.0);
        is("FUP[2.8]", 3.0);
        is("FUP[-2.8]", -2.0);
        is("s i n[30]", 0.5);
        is("atan[1]/[-1]", 135.0);
        is("[1 + acos[0] - [#3 ** [4.0/2]]]", 1.0 + 90.0 - 900.0);
        // Section C.2, line n0460; the value worked out apart, to six decimals.
        let long = evaluated("[2 + asin[1/2.1+-0.345] / [atan[fix[4.4] * 2.1 * sqrt[16.8]] /[-18]]**2]").unwrap();
        assert!((long - 2.000_545).abs() < 5e-7, "{long}");
    }

    #[test]
    fn parameters_bind_tightest() {
        // NISTIR 6556 section 3.3.2.2: `#1+2` is #1 plus 2.
        is("[#1 + 2]", 12.0);
        is("#[1+2]", 30.0);
        is("##2", 200.0);
        is("#<A name>", 5.0);
        is("-#1", -10.0);
        is("-[2]", -2.0);
    }

    #[test]
    fn what_has_no_value() {
        for text in [
            "[1/0]",
            "[1 MOD 0]",
            "SQRT[-1]",
            "LN[0]",
            "ACOS[1.1]",
            "ASIN[-2]",
            "[[0-8]**0.5]",
            "[0**-1]",
            "#0",
            "#5400",
            "#1.5",
            "EXP[999]",
            "[9**99]",
        ] {
            assert!(evaluated(text).is_err(), "{text}");
        }
    }
}
