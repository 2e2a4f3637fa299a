//! Elements of a page: a tree that closes what it opens and escapes what it is told.
//!
//! Names of elements and attributes are part of the program's own text; whatever else goes in is text or the value of an
//! attribute, made harmless as one line and escaped on the way out. Only style and script enter as they are, and they are
//! files of the program.

use crate::letters::one_line;

/// Elements that never hold anything.
const LONE: [&str; 6] = ["meta", "input", "path", "circle", "line", "rect"];

/// An element with what it holds.
#[derive(Debug, Clone)]
pub(super) struct Element {
    name: &'static str,
    attributes: Vec<(&'static str, String)>,
    children: Vec<Node>,
}

#[derive(Debug, Clone)]
enum Node {
    Element(Element),
    Text(String),
    /// A file of the program's own.
    Own(&'static str),
}

/// An empty element.
pub(super) fn el(name: &'static str) -> Element {
    Element { name, attributes: Vec::new(), children: Vec::new() }
}

impl Element {
    /// With an attribute.
    pub(super) fn set(mut self, name: &'static str, value: impl Into<String>) -> Element {
        self.attributes.push((name, value.into()));
        self
    }

    /// With an attribute that has no value, if it is to be there.
    pub(super) fn flag(self, name: &'static str, there: bool) -> Element {
        if there { self.set(name, "") } else { self }
    }

    /// With a class.
    pub(super) fn class(self, names: &str) -> Element {
        if names.is_empty() { self } else { self.set("class", names) }
    }

    /// With an element in it, after what is there.
    pub(super) fn add(mut self, child: Element) -> Element {
        self.children.push(Node::Element(child));
        self
    }

    /// With several elements in it.
    pub(super) fn all(mut self, children: impl IntoIterator<Item = Element>) -> Element {
        self.children.extend(children.into_iter().map(Node::Element));
        self
    }

    /// With text in it.
    pub(super) fn say(mut self, text: impl AsRef<str>) -> Element {
        self.children.push(Node::Text(one_line(text.as_ref())));
        self
    }

    /// With a space in it, which [`say`](Element::say) would take away.
    pub(super) fn space(mut self) -> Element {
        self.children.push(Node::Text(" ".to_owned()));
        self
    }

    /// With a style or a script of the program's own in it.
    pub(super) fn own(mut self, text: &'static str) -> Element {
        self.children.push(Node::Own(text));
        self
    }

    /// As text.
    pub(super) fn write(&self, out: &mut String) {
        out.push('<');
        out.push_str(self.name);
        for (name, value) in &self.attributes {
            out.push(' ');
            out.push_str(name);
            out.push_str("=\"");
            escape(&one_line(value), out);
            out.push('"');
        }
        if LONE.contains(&self.name) {
            out.push_str("/>");
            return;
        }
        out.push('>');
        for child in &self.children {
            match child {
                Node::Element(element) => element.write(out),
                Node::Text(text) => escape(text, out),
                Node::Own(text) => out.push_str(text),
            }
        }
        out.push_str("</");
        out.push_str(self.name);
        out.push('>');
        if matches!(self.name, "section" | "tr" | "li" | "p" | "g" | "svg" | "h2" | "h3" | "title")
        {
            out.push('\n');
        }
    }
}

/// Text in which nothing is left that a page would take for its own.
fn escape(text: &str, out: &mut String) {
    for sign in text.chars() {
        match sign {
            '&' => out.push_str("&amp;"),
            '<' => out.push_str("&lt;"),
            '>' => out.push_str("&gt;"),
            '"' => out.push_str("&quot;"),
            '\'' => out.push_str("&#39;"),
            sign => out.push(sign),
        }
    }
}

/// Bytes in the 64 signs of RFC 4648.
pub(super) fn base64(bytes: &[u8]) -> String {
    const SIGNS: &[u8; 64] = b"ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz0123456789+/";
    let mut text = String::new();
    for three in bytes.chunks(3) {
        let byte = |n: usize| u32::from(three.get(n).copied().unwrap_or(0));
        let bits = byte(0) << 16 | byte(1) << 8 | byte(2);
        for n in 0..4_u32 {
            let sign = SIGNS[(bits >> (18 - 6 * n) & 63) as usize];
            text.push(if n as usize > three.len() { '=' } else { char::from(sign) });
        }
    }
    text
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_is_told_stays_text() {
        let bad = "\"><script>alert('1')</script>&amp;\u{202e}\u{0}\n<b>";
        let mut out = String::new();
        el("p")
            .set("title", bad)
            .say(bad)
            .add(el("b").class("x").flag("hidden", true))
            .write(&mut out);
        let kept = "&quot;&gt;&lt;script&gt;alert(&#39;1&#39;)&lt;/script&gt;&amp;amp;   &lt;b&gt;";
        assert_eq!(out, format!("<p title=\"{kept}\">{kept}<b class=\"x\" hidden=\"\"></b></p>\n"));
    }

    #[test]
    fn base64_is_that_in_print() {
        // RFC 4648, section 10.
        for (text, told) in [
            ("", ""),
            ("f", "Zg=="),
            ("fo", "Zm8="),
            ("foo", "Zm9v"),
            ("foob", "Zm9vYg=="),
            ("fooba", "Zm9vYmE="),
            ("foobar", "Zm9vYmFy"),
        ] {
            assert_eq!(base64(text.as_bytes()), told);
        }
        assert_eq!(base64(&[0xfb, 0xff, 0xfe]), "+//+");
    }
}
