//! Searching what the server has, by words.

use percent_encoding::{NON_ALPHANUMERIC, utf8_percent_encode};
use shared_types::api::SearchResult;
use shared_types::ids::ShopId;

use crate::device::Device;
use crate::session::CallError;
use crate::store::LocalStore;
use crate::surroundings::Surroundings;
use crate::transport::{Body, Method, Transport};

impl<S, T, E> Device<S, T, E>
where
    S: LocalStore + 'static,
    T: Transport + 'static,
    E: Surroundings + 'static,
{
    /// What a shop has that holds all the words typed.
    ///
    /// # Errors
    /// When the server can't be reached, or nothing can be searched for by what was typed.
    pub async fn search(&self, shop: ShopId, typed: &str) -> Result<SearchResult, CallError> {
        let typed = utf8_percent_encode(typed, NON_ALPHANUMERIC);
        self.ask(Method::Get, &format!("shops/{shop}/search?q={typed}"), Body::Empty).await
    }
}
