//! A maker's cure table as people type it: a line for each temperature, `23 °C, 24`.

use serde_json::{Value, json};
use shared_types::check::Problem;
use shared_types::shelf::written;
use shared_types::status::read_number;

/// What a person would have typed.
pub fn text(lines: &[Value]) -> String {
    let line = |line: &Value| {
        let temperature = line.get("temperature").and_then(Value::as_str).unwrap_or("");
        let hours = line.get("hours").and_then(Value::as_f64).unwrap_or(0.0);
        format!("{temperature}, {} h", written(hours))
    };
    lines.iter().map(line).collect::<Vec<_>>().join("\n")
}

/// The table that was typed.
///
/// # Errors
/// When a line is not a temperature and hours, with its number.
pub fn value(field: &str, text: &str) -> Result<Value, Problem> {
    let mut table = Vec::new();
    for (number, line) in (1..).zip(text.lines()).filter(|(_, line)| !line.trim().is_empty()) {
        let read = line.rsplit_once(',').and_then(|(temperature, hours)| {
            let hours = read_number(hours.trim().trim_end_matches(['h', ' ']))?;
            (hours > 0.0 && !temperature.trim().is_empty())
                .then(|| json!({ "temperature": temperature.trim(), "hours": hours }))
        });
        let Some(read) = read else {
            let reason = format!("line {number}: “{}” can't be read", line.trim());
            return Err(Problem::new(field, reason, "a temperature, a comma and hours: 23 °C, 24 h"));
        };
        table.push(read);
    }
    Ok(Value::Array(table))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_table_is_read_line_by_line_and_a_fault_names_its_line() {
        let read = value("cure", "23 °C, 24 h\n\n 60 °C , 6.5").unwrap();
        assert_eq!(
            read,
            json!([{ "temperature": "23 °C", "hours": 24.0 }, { "temperature": "60 °C", "hours": 6.5 }])
        );
        assert_eq!(text(read.as_array().unwrap()), "23 °C, 24 h\n60 °C, 6.5 h");
        for wrong in ["23 °C", "23 °C, soon", ", 24 h", "23 °C, -1"] {
            let fault = value("cure", &format!("60 °C, 6\n{wrong}")).unwrap_err();
            assert!(fault.reason.starts_with("line 2"), "{fault}");
        }
    }
}
