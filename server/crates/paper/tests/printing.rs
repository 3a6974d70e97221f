//! Documents of all sorts come out whole: long tables, words without end, texts in any script, no picture.

#![allow(clippy::unwrap_used, reason = "what fails fails the test")]

use paper::{Attachment, Block, Document, Moment, PaperError, Photo, Span, Table, print};

fn document(blocks: Vec<Block>) -> Document {
    Document {
        title: "A record".into(),
        about: "What a test wrote".into(),
        made: Moment { year: 2026, month: 11, day: 25, hour: 12, minute: 42, second: 0 },
        footer: "A record of a test".into(),
        blocks,
        attachments: vec![Attachment {
            name: "data.json".into(),
            media_type: "application/json".into(),
            about: "What it was made of".into(),
            content: b"{}".to_vec(),
        }],
    }
}

fn pages(pdf: &[u8]) -> usize {
    let page = b"/Type/Page";
    let whole = |at: usize| !pdf[at + page.len()..].starts_with(b"s");
    (0..pdf.len() - page.len()).filter(|at| pdf[*at..].starts_with(page) && whole(*at)).count()
}

#[test]
fn a_long_table_goes_on_from_page_to_page_and_so_does_a_row_longer_than_a_page() {
    let row = |n: usize| vec![vec![Span::plain(n.to_string())], vec![Span::plain("tight; within; 3.2 mm")]];
    let table = Table { header: vec!["Hole", "Found"], rows: (0..200).map(row).collect() };
    let many = print(&document(vec![Block::Table(table)]), &|| false).unwrap();
    let long = vec![vec![Span::plain("1")], vec![Span::plain("a note that goes on and on ".repeat(1_000))]];
    let table = Table { header: vec!["Hole", "Note"], rows: vec![long] };
    let tall = print(&document(vec![Block::Table(table)]), &|| false).unwrap();
    assert!(pages(&many) >= 4 && pages(&tall) >= 4, "{} and {} pages", pages(&many), pages(&tall));
}

#[test]
fn whatever_people_type_is_text_and_nothing_else() {
    let typed = "<b>#import \"x\"</b> \\(PDF) \u{0}\u{feff}漢字 ✓ 😀 \u{202e}back\u{e000} e\u{301} "
        .to_owned()
        + &"endless".repeat(200);
    let span = || vec![Span::plain(typed.clone()), Span::strong(typed.clone())];
    let blocks = vec![
        Block::Title { over: typed.clone(), title: typed.clone() },
        Block::Heading(2, typed.clone()),
        Block::Text(span()),
        Block::Facts(vec![(typed.clone(), typed.clone()), (String::new(), String::new())]),
        Block::List(vec![span(), vec![]]),
        Block::Table(Table { header: vec!["A", "B", "C"], rows: vec![vec![span(), vec![], span()]] }),
        Block::Table(Table::default()),
        Block::Photos(vec![Photo { picture: Err(typed.clone()), alt: typed.clone(), caption: span() }]),
        Block::Photos(vec![Photo {
            picture: Ok(b"no picture"[..].into()),
            alt: String::new(),
            caption: vec![],
        }]),
        Block::Drawing { svg: typed.clone(), style: "", alt: typed.clone(), width: 0.5 },
        Block::NewPage,
        Block::NewPage,
    ];
    assert!(print(&document(blocks), &|| false).unwrap().starts_with(b"%PDF"));
}

#[test]
fn photos_stand_two_in_a_row_on_as_many_pages_as_they_take() {
    let jpeg = &include_bytes!("../../../tests/routes/photos/picture.jpg")[..];
    let photo =
        Photo { picture: Ok(jpeg.into()), alt: "A row".into(), caption: vec![Span::strong("before")] };
    let pdf = print(&document(vec![Block::Photos(vec![photo; 25])]), &|| false).unwrap();
    assert!(pages(&pdf) >= 4, "{} pages", pages(&pdf));
    let pictures = pdf.windows(10).filter(|it| it == b"/DCTDecode").count();
    assert_eq!(pictures, 1, "one picture's bytes are there once");
}

#[test]
fn nobody_waits_for_a_document_that_was_stopped() {
    let stopped = print(&document(vec![Block::Heading(2, "Never".into())]), &|| true);
    assert!(matches!(stopped, Err(PaperError::Stopped)));
}
