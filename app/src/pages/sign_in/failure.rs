//! Why a call that needs the server failed, in words for people.

use device::CallError;
use shared_types::api::ProblemCode;

/// What went wrong, and what to do about it.
#[must_use]
pub fn call_failure(error: &CallError) -> String {
    match error {
        CallError::Net(_) => format!(
            "The server can't be reached ({error}). This one thing needs a connection; everything else goes on without."
        ),
        CallError::Refused(problem) => match problem.code {
            ProblemCode::WrongCredentials => {
                "The sign-in name or the password is not right. Both are as your account has them; capitals in the password count.".to_owned()
            }
            ProblemCode::TooMany => format!("Too many tries. {}", problem.detail),
            ProblemCode::InvitationOver => {
                "This invitation was used or has run out. Ask a lead of the shop for a new one.".to_owned()
            }
            ProblemCode::OutOfLimits if !problem.fields.is_empty() => {
                problem.fields.iter().map(ToString::to_string).collect::<Vec<_>>().join("; ")
            }
            _ => error.to_string(),
        },
        CallError::SignInNeeded => "Your session is over. Sign in again; nothing on this device is lost.".to_owned(),
        CallError::Unreadable(_) | CallError::Local(_) => error.to_string(),
    }
}
