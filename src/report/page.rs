//! The report as one HTML page.

use alloc::format;
use alloc::string::String;
use core::fmt::Write as _;

use super::document::{Block, Document, Table};
use super::drawing;

const STYLE: &str = "\
body{font:16px/1.45 Georgia,'Times New Roman',serif;color:#141414;background:#fff;max-width:62rem;margin:2rem auto;padding:0 1rem}\
h1{font-size:1.7rem;border-bottom:3px double #141414;padding-bottom:.4rem}\
h2{font-size:1.15rem;margin:2rem 0 .5rem;padding-left:.6rem;border-left:.35rem solid #143250}\
p{margin:.35rem 0}\
ul{margin:.3rem 0 .6rem 1.2rem;padding:0}\
.wide{overflow-x:auto}\
table{border-collapse:collapse;margin:.6rem 0;font:14px/1.35 Verdana,Arial,sans-serif}\
th,td{padding:.25rem .7rem .25rem 0;text-align:left;vertical-align:top;border-bottom:1px solid #bbb}\
th{border-bottom:2px solid #141414;font-weight:600}\
figure{display:inline-block;width:100%;max-width:29rem;margin:1rem 1rem 1rem 0;vertical-align:top}\
figure svg{width:100%;height:auto;border:1px solid #bbb}\
figcaption{font-size:.85rem;color:#333}\
.blank{display:flex;gap:.6rem;margin:1.1rem 0}.blank span{flex:1;border-bottom:1px solid #141414}\
@media print{body{margin:0;max-width:none;font-size:11pt}h2{break-after:avoid}figure,tr{break-inside:avoid}}";

pub(super) fn html(document: &Document) -> String {
    let title = escaped(&document.title);
    let mut page = format!(
        "<!DOCTYPE html>\n<html lang=\"en\">\n<head>\n<meta charset=\"utf-8\">\n<meta name=\"viewport\" \
         content=\"width=device-width, initial-scale=1\">\n<title>{title}</title>\n<style>{STYLE}</style>\n</head>\n<body>\n\
         <h1>{title}</h1>\n"
    );
    for section in &document.sections {
        let _ = writeln!(page, "<section>\n<h2>{}</h2>", escaped(section.title));
        for block in &section.blocks {
            match block {
                Block::Line(line) => {
                    let _ = writeln!(page, "<p>{}</p>", escaped(line));
                }
                Block::List(lines) => {
                    page.push_str("<ul>\n");
                    for line in lines {
                        let _ = writeln!(page, "<li>{}</li>", escaped(line));
                    }
                    page.push_str("</ul>\n");
                }
                Block::Table(table) => push_table(&mut page, table),
                Block::Figure(figure) => {
                    let drawn = drawing::svg(figure);
                    if !drawn.is_empty() {
                        let caption = escaped(&figure.caption);
                        let _ = writeln!(
                            page,
                            "<figure role=\"img\" aria-label=\"{caption}\">{drawn}<figcaption>{caption}</figcaption></figure>"
                        );
                    }
                }
                Block::Blank(name) => {
                    let _ = writeln!(page, "<p class=\"blank\">{}: <span></span></p>", escaped(name));
                }
            }
        }
        page.push_str("</section>\n");
    }
    page.push_str("</body>\n</html>\n");
    page
}

// Writing into a string does not fail.
fn push_table(page: &mut String, table: &Table) {
    page.push_str("<div class=\"wide\"><table>\n<tr>");
    for name in &table.head {
        let _ = write!(page, "<th scope=\"col\">{}</th>", escaped(name));
    }
    page.push_str("</tr>\n");
    for row in &table.rows {
        page.push_str("<tr>");
        for cell in row {
            let _ = write!(page, "<td>{}</td>", escaped(cell));
        }
        page.push_str("</tr>\n");
    }
    page.push_str("</table></div>\n");
}

/// What a record says is shown, and never run.
fn escaped(text: &str) -> String {
    let mut escaped = String::with_capacity(text.len());
    for character in text.chars() {
        match character {
            '&' => escaped.push_str("&amp;"),
            '<' => escaped.push_str("&lt;"),
            '>' => escaped.push_str("&gt;"),
            '"' => escaped.push_str("&quot;"),
            '\'' => escaped.push_str("&#39;"),
            // Control characters have no place in a page.
            '\t' | '\n' | '\r' => escaped.push(' '),
            control if control.is_control() => escaped.push('\u{fffd}'),
            other => escaped.push(other),
        }
    }
    escaped
}
