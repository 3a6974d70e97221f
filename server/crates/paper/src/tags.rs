//! What the marks on the pages are: the tree that a reader aloud follows.

use std::num::NonZeroU16;

use krilla::tagging::{Identifier, ListNumbering, TableHeaderScope, Tag, TagGroup, TagTree};

/// A part of the document, by its place among all parts.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Part(usize);

/// What a part is.
#[derive(Clone, Debug)]
pub enum Kind {
    /// A heading of a level.
    Heading(u8, String),
    /// A paragraph.
    Paragraph,
    /// A list.
    List,
    /// A point of it.
    Point,
    /// What the point says.
    PointBody,
    /// A table.
    Table,
    /// A row of it.
    Row,
    /// What a column is.
    ColumnName,
    /// What a row is.
    RowName,
    /// A cell.
    Cell,
    /// A picture, with what it shows in words.
    Figure(String),
    /// What stands below a picture.
    Caption,
}

/// All parts, in reading order.
#[derive(Debug, Default)]
pub struct Tags(Vec<(Kind, Option<Part>)>);

impl Tags {
    /// Adds a part, within another one or by itself.
    pub fn add(&mut self, kind: Kind, within: Option<Part>) -> Part {
        self.0.push((kind, within));
        Part(self.0.len() - 1)
    }

    /// The tree, with the marks that each part has.
    pub fn tree(self, marks: &[(Part, Identifier)]) -> TagTree {
        let mut groups: Vec<TagGroup> = self.0.iter().map(|(kind, _)| kind.group()).collect();
        for (part, mark) in marks {
            groups[part.0].push(*mark);
        }
        let mut tree = TagTree::new();
        let mut children: Vec<Vec<TagGroup>> = self.0.iter().map(|_| Vec::new()).collect();
        let mut top = Vec::new();
        // Parts stand behind the part that they are in, so from the end on each one is complete.
        for (at, (_, within)) in self.0.iter().enumerate().rev() {
            let mut group = groups.pop().unwrap_or_else(|| Kind::Paragraph.group());
            for child in children[at].drain(..).rev() {
                group.push(child);
            }
            match within {
                Some(Part(parent)) => children[*parent].push(group),
                None => top.push(group),
            }
        }
        for group in top.into_iter().rev() {
            tree.push(group);
        }
        tree
    }
}

impl Kind {
    fn group(&self) -> TagGroup {
        match self {
            Self::Heading(level, title) => {
                let level = NonZeroU16::new(u16::from(*level)).unwrap_or(NonZeroU16::MIN);
                TagGroup::new(Tag::Hn(level, Some(title.clone())))
            }
            Self::Paragraph => TagGroup::new(Tag::P),
            Self::List => TagGroup::new(Tag::L(ListNumbering::Disc)),
            Self::Point => TagGroup::new(Tag::LI),
            Self::PointBody => TagGroup::new(Tag::LBody),
            Self::Table => TagGroup::new(Tag::Table),
            Self::Row => TagGroup::new(Tag::TR),
            Self::ColumnName => TagGroup::new(Tag::TH(TableHeaderScope::Column)),
            Self::RowName => TagGroup::new(Tag::TH(TableHeaderScope::Row)),
            Self::Cell => TagGroup::new(Tag::TD),
            // A picture without words is not allowed.
            Self::Figure(alt) if alt.trim().is_empty() => Self::Figure("Picture".to_owned()).group(),
            Self::Figure(alt) => TagGroup::new(Tag::Figure(Some(alt.clone()))),
            Self::Caption => TagGroup::new(Tag::Caption),
        }
    }
}
