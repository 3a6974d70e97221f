//! Drawings come from the engine as SVG text. It is our own engine, but the text
//! travelled through a log that others can write to: only what a drawing needs
//! gets into the page.

use leptos::prelude::*;

/// Elements a drawing may hold.
const ELEMENTS: [&str; 11] =
    ["svg", "g", "path", "line", "rect", "circle", "ellipse", "polyline", "polygon", "text", "title"];

/// Attributes a drawing may hold; none of them can load or run anything.
const ATTRIBUTES: [&str; 33] = [
    "xmlns",
    "viewBox",
    "width",
    "height",
    "class",
    "d",
    "x",
    "y",
    "x1",
    "y1",
    "x2",
    "y2",
    "cx",
    "cy",
    "r",
    "rx",
    "ry",
    "points",
    "transform",
    "fill",
    "stroke",
    "stroke-width",
    "stroke-dasharray",
    "stroke-linecap",
    "stroke-linejoin",
    "font-size",
    "font-weight",
    "text-anchor",
    "dominant-baseline",
    "role",
    "aria-label",
    "preserveAspectRatio",
    "opacity",
];

/// A drawing, or a sentence when its text is not a plain drawing.
#[component]
pub fn Drawing(svg: String, #[prop(into)] label: String) -> impl IntoView {
    if safe_svg(&svg) {
        view! { <figure class="drawing" role="img" aria-label=label inner_html=svg></figure> }.into_any()
    } else {
        view! { <p class="muted">"The drawing can't be shown: it holds more than a drawing needs."</p> }
            .into_any()
    }
}

/// Does a text hold nothing but the elements and attributes of a plain drawing?
///
/// A drawing is taken whole or not at all. Attribute values are always quoted and
/// hold no `<`, `&#` or `url(`; there are no comments, no sections, no entities
/// but the five of XML.
#[must_use]
pub fn safe_svg(svg: &str) -> bool {
    let svg = svg.trim();
    if !svg.starts_with("<svg") || svg.contains("&#") || svg.to_ascii_lowercase().contains("url(") {
        return false;
    }
    let mut rest = svg;
    while let Some(open) = rest.find('<') {
        let Some(length) = rest[open..].find('>') else { return false };
        if !safe_tag(&rest[open + 1..open + length]) {
            return false;
        }
        rest = &rest[open + length + 1..];
    }
    true
}

fn safe_tag(tag: &str) -> bool {
    if let Some(name) = tag.strip_prefix('/') {
        return ELEMENTS.contains(&name.trim_end());
    }
    let tag = tag.strip_suffix('/').unwrap_or(tag);
    let (name, attributes) = tag.split_once(char::is_whitespace).unwrap_or((tag, ""));
    ELEMENTS.contains(&name) && safe_attributes(attributes)
}

fn safe_attributes(attributes: &str) -> bool {
    let mut rest = attributes.trim();
    while !rest.is_empty() {
        let Some((name, value)) = rest.split_once('=') else { return false };
        if !ATTRIBUTES.contains(&name.trim()) {
            return false;
        }
        let Some(quote) = value.chars().next().filter(|quote| matches!(quote, '"' | '\'')) else {
            return false;
        };
        let Some((_, after)) = value[1..].split_once(quote) else { return false };
        rest = after.trim_start();
    }
    true
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_plain_drawing_is_taken() {
        assert!(safe_svg(
            r#"<svg viewBox="0 0 10 10"><g class="metal"><rect x="0" y='1' width="4" height="2"/></g><text x="1" y="2">D &lt; 4</text></svg>"#
        ));
    }

    #[test]
    fn whatever_could_load_or_run_something_is_not() {
        for svg in [
            "<script>alert(1)</script>",
            "<svg><script>alert(1)</script></svg>",
            "<svg onload=\"alert(1)\"></svg>",
            "<svg><rect onclick='x'/></svg>",
            "<svg><image href=\"https://elsewhere\"/></svg>",
            "<svg><a href=\"javascript:x\"><text>y</text></a></svg>",
            "<svg><foreignObject><p>x</p></foreignObject></svg>",
            "<svg><rect fill=\"URL(#x)\"/></svg>",
            "<svg><rect style=\"x:y\"/></svg>",
            "<svg><rect x=1/></svg>",
            "<svg><!-- --><rect/></svg>",
            "<svg><rect x=\"1\"",
            "<svg><text>&#60;script&#62;</text></svg>",
            "",
        ] {
            assert!(!safe_svg(svg), "{svg}");
        }
    }
}
