//! Who may ask: a page that this program served, and nobody else.
//!
//! A page of elsewhere in the same browser can send requests here, and a name of elsewhere can be
//! made to lead here. Against both the host, the origin and what the browser says of the request
//! are checked (Fetch Metadata, W3C; RFC 6454 for origins); against other machines, the token.

use axum::extract::{Request, State};
use axum::http::header::{CONTENT_TYPE, HOST, HeaderName, ORIGIN};
use axum::http::uri::{PathAndQuery, Uri};
use axum::http::{HeaderMap, HeaderValue, Method, StatusCode};
use axum::middleware::Next;
use axum::response::{IntoResponse, Response};
use std::sync::Arc;

use super::address::Address;

/// What every answer carries. Nothing is loaded from elsewhere, nothing inside a page is run, the
/// page is framed by nobody, and nothing is kept.
const HEADERS: [(&str, &str); 7] = [
    (
        "content-security-policy",
        "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self'; \
         connect-src 'self'; base-uri 'none'; form-action 'none'; frame-ancestors 'none'; \
         require-trusted-types-for 'script'",
    ),
    ("x-content-type-options", "nosniff"),
    ("referrer-policy", "no-referrer"),
    ("cache-control", "no-store"),
    ("cross-origin-opener-policy", "same-origin"),
    ("cross-origin-resource-policy", "same-origin"),
    (
        "permissions-policy",
        "camera=(), microphone=(), geolocation=()",
    ),
];

/// Lets through what may ask, with the token taken off its path.
pub(super) async fn guard(
    State(address): State<Arc<Address>>,
    mut request: Request,
    next: Next,
) -> Response {
    let checked = check(&address, &request);
    let mut response = match checked {
        Ok(path) => {
            *request.uri_mut() = path;
            next.run(request).await
        }
        Err((status, why)) => (status, format!("refused: {why}\n")).into_response(),
    };
    let headers = response.headers_mut();
    for (name, value) in HEADERS {
        headers.insert(
            HeaderName::from_static(name),
            HeaderValue::from_static(value),
        );
    }
    response
}

type Refused = (StatusCode, &'static str);

fn check(address: &Address, request: &Request) -> Result<Uri, Refused> {
    let headers = request.headers();
    let host = one(headers, &HOST).ok_or((StatusCode::BAD_REQUEST, "there is no single host"))?;
    if !address.is_host(host) {
        return Err((StatusCode::MISDIRECTED_REQUEST, "the host is another one"));
    }
    let path = address
        .path(request.uri().path())
        .and_then(|path| PathAndQuery::try_from(path).ok())
        .ok_or((StatusCode::UNAUTHORIZED, "the token is missing or wrong"))?;
    from_own_page(headers, host, request.method() == Method::POST)?;
    if request.method() == Method::POST && one(headers, &CONTENT_TYPE) != Some("application/json") {
        let why = "the content is not `application/json`";
        return Err((StatusCode::UNSUPPORTED_MEDIA_TYPE, why));
    }
    Ok(Uri::from(path))
}

/// Whether a request comes from a page of this server, or from the address bar.
fn from_own_page(headers: &HeaderMap, host: &str, commands: bool) -> Result<(), Refused> {
    let origin = headers.get(ORIGIN).map(HeaderValue::as_bytes);
    let own = format!("http://{host}");
    let same = origin.map(|origin| origin == own.as_bytes());
    // Browsers name the origin of every request that is not a plain GET.
    if same == Some(false) || (commands && same.is_none()) {
        return Err((StatusCode::FORBIDDEN, "it does not come from this page"));
    }
    let site = headers.get("sec-fetch-site").map(HeaderValue::as_bytes);
    match site {
        None | Some(b"same-origin") => Ok(()),
        Some(b"none") if !commands => Ok(()),
        Some(_) => Err((StatusCode::FORBIDDEN, "it comes from another site")),
    }
}

/// The value of a header that is there once.
fn one<'a>(headers: &'a HeaderMap, name: &HeaderName) -> Option<&'a str> {
    let mut values = headers.get_all(name).iter();
    let value = values.next()?;
    values.next().is_none().then(|| value.to_str().ok())?
}
