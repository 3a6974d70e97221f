//! Sign-in names.

use std::fmt;

use shared_types::check::Problem;

/// A sign-in name as it is kept and compared: lower case, 2 to 64 characters.
#[derive(Clone, PartialEq, Eq, Hash)]
pub struct Login(String);

impl Login {
    /// Reads a name as somebody typed it.
    ///
    /// # Errors
    /// When it can't be a sign-in name.
    pub fn read(typed: &str) -> Result<Self, Problem> {
        let name = typed.trim().to_lowercase();
        let fits = (2..=64).contains(&name.len())
            && name.bytes().all(|b| b.is_ascii_lowercase() || b.is_ascii_digit() || b"._-@+".contains(&b));
        if fits {
            return Ok(Self(name));
        }
        Err(Problem::new(
            "login",
            "is not a sign-in name",
            "2 to 64 of the letters a-z, digits and the marks . _ - @ +",
        ))
    }

    /// The name.
    #[must_use]
    pub fn as_str(&self) -> &str {
        &self.0
    }
}

/// A sign-in name may be an address of a person: it stays out of logs.
impl fmt::Debug for Login {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str("Login(…)")
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_name_is_the_same_however_it_is_typed() {
        assert_eq!(Login::read(" Lead@Hangar-3 ").unwrap().as_str(), "lead@hangar-3");
        for typed in ["", "a", "two words", "😀😀", &"x".repeat(65), "a\u{0}b", "a\nb"] {
            assert!(Login::read(typed).is_err(), "{typed:?}");
        }
    }
}
