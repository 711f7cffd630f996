//! HTML by the strict reading of the standard (WHATWG HTML, section 13.2): every parse error counts.

use html5ever::tendril::TendrilSink;
use html5ever::tokenizer::TokenizerOpts;
use html5ever::{ParseOpts, parse_document};
use markup5ever_rcdom::{Handle, NodeData, RcDom};

/// Reads a page and gives its visible text.
///
/// # Panics
///
/// At any parse error.
#[track_caller]
pub fn read(page: &str) -> String {
    let options = ParseOpts {
        tokenizer: TokenizerOpts {
            exact_errors: true,
            ..TokenizerOpts::default()
        },
        ..ParseOpts::default()
    };
    let dom = parse_document(RcDom::default(), options).one(page);
    let errors = dom.errors.borrow();
    assert!(errors.is_empty(), "{errors:?}");
    let mut text = String::new();
    collect(&dom.document, &mut text);
    text
}

fn collect(node: &Handle, text: &mut String) {
    match &node.data {
        NodeData::Text { contents } => text.push_str(&contents.borrow()),
        NodeData::Element { name, .. } => {
            let name: &str = name.local.as_ref();
            assert!(
                name != "script" && name != "iframe",
                "a `{name}` in a report"
            );
            text.push(' ');
        }
        _ => {}
    }
    for child in node.children.borrow().iter() {
        collect(child, text);
    }
}

#[test]
fn what_is_wrong_is_found() {
    let wrong = std::panic::catch_unwind(|| read("<!DOCTYPE html><p><b>a</p></i>"));
    assert!(wrong.is_err());
}
