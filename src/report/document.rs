//! A document: sections of lines, tables and figures; and the same as plain text.

use alloc::string::String;
use alloc::vec::Vec;

use super::figures::Figure;

/// How many characters a line of text has at most, where words allow it.
const WIDTH: usize = 100;

#[derive(Debug, Clone)]
pub(super) struct Document {
    pub title: String,
    pub sections: Vec<Section>,
}

#[derive(Debug, Clone)]
pub(super) struct Section {
    pub title: &'static str,
    pub blocks: Vec<Block>,
}

#[derive(Debug, Clone)]
pub(super) enum Block {
    Line(String),
    /// One thing after the other.
    List(Vec<String>),
    Table(Table),
    /// Not in plain text.
    #[cfg_attr(not(feature = "report"), allow(dead_code))]
    Figure(Figure),
    /// A line to be filled in by hand.
    Blank(&'static str),
}

#[derive(Debug, Clone)]
pub(super) struct Table {
    pub head: Vec<String>,
    pub rows: Vec<Vec<String>>,
}

impl Section {
    pub(super) const fn new(title: &'static str) -> Self {
        Self { title, blocks: Vec::new() }
    }

    pub(super) fn line(&mut self, line: impl Into<String>) {
        self.blocks.push(Block::Line(line.into()));
    }

    pub(super) fn list(&mut self, lines: Vec<String>) {
        if !lines.is_empty() {
            self.blocks.push(Block::List(lines));
        }
    }

    pub(super) fn table(&mut self, head: &[&str], rows: Vec<Vec<String>>) {
        if !rows.is_empty() {
            let head = head.iter().map(|&name| String::from(name)).collect();
            self.blocks.push(Block::Table(Table { head, rows }));
        }
    }
}

impl Document {
    pub(super) fn text(&self) -> String {
        let mut text = String::new();
        heading(&mut text, &self.title, '=');
        for section in &self.sections {
            text.push('\n');
            section.push_to(&mut text);
        }
        text
    }
}

impl Section {
    pub(super) fn text(&self) -> String {
        let mut text = String::new();
        self.push_to(&mut text);
        text
    }

    fn push_to(&self, text: &mut String) {
        heading(text, self.title, '-');
        for block in &self.blocks {
            match block {
                Block::Line(line) => wrapped(text, line, "", ""),
                Block::List(lines) => {
                    for line in lines {
                        wrapped(text, line, "- ", "  ");
                    }
                }
                Block::Table(table) => columns(text, table),
                Block::Figure(_) => {}
                Block::Blank(name) => {
                    text.push_str(name);
                    text.push_str(": ");
                    text.push_str(&"_".repeat(40));
                    text.push('\n');
                }
            }
        }
    }
}

fn length(text: &str) -> usize {
    text.chars().count()
}

fn heading(text: &mut String, title: &str, under: char) {
    text.push_str(title);
    text.push('\n');
    text.extend(core::iter::repeat_n(under, length(title)));
    text.push('\n');
}

fn wrapped(text: &mut String, line: &str, first: &str, next: &str) {
    text.push_str(first);
    let mut used = length(first);
    let mut is_first = true;
    for word in line.split_whitespace() {
        if !is_first && used + 1 + length(word) > WIDTH {
            text.push('\n');
            text.push_str(next);
            used = length(next);
            is_first = true;
        }
        if !is_first {
            text.push(' ');
            used += 1;
        }
        text.push_str(word);
        used += length(word);
        is_first = false;
    }
    text.push('\n');
}

fn columns(text: &mut String, table: &Table) {
    let count = table.rows.iter().map(Vec::len).chain([table.head.len()]).max().unwrap_or(0);
    let cell = |row: &[String], at: usize| row.get(at).cloned().unwrap_or_default();
    let widths: Vec<usize> = (0..count)
        .map(|at| {
            let cells = table.rows.iter().map(|row| length(&cell(row, at)));
            cells.chain([length(&cell(&table.head, at))]).max().unwrap_or(0)
        })
        .collect();
    let mut line = |row: &[String]| {
        let mut out = String::new();
        for (at, width) in widths.iter().enumerate() {
            let cell = cell(row, at);
            let missing = width.saturating_sub(length(&cell));
            out.push_str(&cell);
            out.extend(core::iter::repeat_n(' ', missing + 2));
        }
        text.push_str(out.trim_end());
        text.push('\n');
    };
    line(&table.head);
    let rules: Vec<String> = widths.iter().map(|&width| "-".repeat(width)).collect();
    line(&rules);
    for row in &table.rows {
        line(row);
    }
}
