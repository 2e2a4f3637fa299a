//! What stands round the entities of a DXF file: header, tables, blocks, objects.
//!
//! A file is pairs of lines, a group code and a value. Every object of R2000 has a handle of its own and names its
//! owner; the header's seed stands above all handles. R12 needs neither.
//!
//! # Source
//! The format owner's published DXF reference, R2000 and R12.

use super::dxf::DxfVersion;
use super::number::{BULGE_DECIMALS, MM_DECIMALS, pointed};
use crate::geom::{Point, Rect};
use std::fmt::Write;

/// Pairs of group code and value, with the next free handle.
pub(super) struct Pairs {
    text: String,
    next: u32,
}

impl Pairs {
    pub(super) fn new() -> Pairs {
        Pairs { text: String::new(), next: 1 }
    }

    pub(super) fn text(&mut self, code: u16, value: &str) {
        let _ = write!(self.text, "{code}\n{value}\n");
    }

    pub(super) fn whole(&mut self, code: u16, value: usize) {
        self.text(code, &value.to_string());
    }

    pub(super) fn real(&mut self, code: u16, value: f64, decimals: usize) {
        self.text(code, &pointed(value, decimals));
    }

    pub(super) fn mm(&mut self, code: u16, value: f64) {
        self.real(code, value, MM_DECIMALS);
    }

    pub(super) fn flat_point(&mut self, code: u16, p: Point) {
        self.mm(code, p.x);
        self.mm(code + 10, p.y);
    }

    /// A point in space, z 0.
    pub(super) fn point(&mut self, code: u16, p: Point) {
        self.flat_point(code, p);
        self.mm(code + 20, 0.0);
    }

    /// A point with more decimals than coordinates have: the centre of an arc, which its ends hang on.
    pub(super) fn fine_point(&mut self, code: u16, p: Point) {
        self.real(code, p.x, BULGE_DECIMALS);
        self.real(code + 10, p.y, BULGE_DECIMALS);
        self.mm(code + 20, 0.0);
    }

    pub(super) fn handle(&mut self, code: u16, handle: u32) {
        self.text(code, &format!("{handle:X}"));
    }

    fn take(&mut self) -> u32 {
        self.next += 1;
        self.next - 1
    }

    /// The object's own handle, a new one.
    pub(super) fn new_handle(&mut self) -> u32 {
        let handle = self.take();
        self.handle(5, handle);
        handle
    }
}

/// All of a file but its entities.
pub(super) struct Frame<'a> {
    pub(super) version: DxfVersion,
    /// Names and colour numbers.
    pub(super) layers: &'a [(&'a str, u8)],
    pub(super) extent: Rect,
    pub(super) page: (f64, f64),
}

impl Frame<'_> {
    fn is_new(&self) -> bool {
        self.version == DxfVersion::R2000
    }

    /// Tables and blocks, and the head of the entities; gives the handle of the space that entities belong to.
    pub(super) fn before_entities(&self, to: &mut Pairs) -> u32 {
        let mut spaces = (0, 0);
        if self.is_new() {
            section(to, "CLASSES");
            to.text(0, "ENDSEC");
        }
        section(to, "TABLES");
        if self.is_new() {
            self.table(to, "VPORT", &[], |_, _, _| {});
        }
        self.line_types(to);
        self.layer_table(to);
        self.styles(to);
        if self.is_new() {
            self.table(to, "VIEW", &[], |_, _, _| {});
            self.table(to, "UCS", &[], |_, _, _| {});
        }
        self.table(to, "APPID", &["ACAD"], |frame, to, (name, owner)| {
            frame.record(to, "APPID", "AcDbRegAppTableRecord", owner);
            to.text(2, name);
            to.whole(70, 0);
        });
        if self.is_new() {
            self.dimension_styles(to);
            spaces = self.block_records(to);
        }
        to.text(0, "ENDSEC");
        section(to, "BLOCKS");
        if self.is_new() {
            block(to, "*Model_Space", spaces.0, false);
            block(to, "*Paper_Space", spaces.1, true);
        }
        to.text(0, "ENDSEC");
        section(to, "ENTITIES");
        spaces.0
    }

    /// The end of the entities, the objects, the end of the file.
    pub(super) fn after_entities(&self, to: &mut Pairs) {
        to.text(0, "ENDSEC");
        if self.is_new() {
            section(to, "OBJECTS");
            to.text(0, "DICTIONARY");
            let root = to.new_handle();
            to.handle(330, 0);
            to.text(100, "AcDbDictionary");
            to.whole(281, 1);
            to.text(3, "ACAD_GROUP");
            let groups = to.next;
            to.handle(350, groups);
            to.text(0, "DICTIONARY");
            to.new_handle();
            to.handle(330, root);
            to.text(100, "AcDbDictionary");
            to.whole(281, 1);
            to.text(0, "ENDSEC");
        }
        to.text(0, "EOF");
    }

    /// The header before the rest: it names the first handle that is still free.
    pub(super) fn with_header(&self, rest: &Pairs) -> String {
        let mut to = Pairs::new();
        section(&mut to, "HEADER");
        let variable = |to: &mut Pairs, name: &str| to.text(9, name);
        variable(&mut to, "$ACADVER");
        to.text(1, if self.is_new() { "AC1015" } else { "AC1009" });
        if self.is_new() {
            variable(&mut to, "$DWGCODEPAGE");
            to.text(3, "ANSI_1252");
            variable(&mut to, "$HANDSEED");
            to.handle(5, rest.next);
        }
        variable(&mut to, "$INSUNITS");
        to.whole(70, 4);
        variable(&mut to, "$MEASUREMENT");
        to.whole(70, 1);
        variable(&mut to, "$EXTMIN");
        to.point(10, Point::new(self.extent.x0, self.extent.y0));
        variable(&mut to, "$EXTMAX");
        to.point(10, Point::new(self.extent.x1, self.extent.y1));
        variable(&mut to, "$LIMMIN");
        to.flat_point(10, Point::ORIGIN);
        variable(&mut to, "$LIMMAX");
        to.flat_point(10, Point::new(self.page.0, self.page.1));
        to.text(0, "ENDSEC");
        to.text + &rest.text
    }

    /// A table: its head, an entry a name, its end. An entry learns its name and the table's handle.
    fn table(
        &self,
        to: &mut Pairs,
        name: &str,
        entries: &[&str],
        mut entry: impl FnMut(&Self, &mut Pairs, (&str, u32)),
    ) {
        to.text(0, "TABLE");
        to.text(2, name);
        let mut handle = 0;
        if self.is_new() {
            handle = to.new_handle();
            to.handle(330, 0);
            to.text(100, "AcDbSymbolTable");
        }
        to.whole(70, entries.len());
        if self.is_new() && name == "DIMSTYLE" {
            to.text(100, "AcDbDimStyleTable");
            to.whole(71, entries.len());
        }
        for one in entries {
            entry(self, to, (one, handle));
        }
        to.text(0, "ENDTAB");
    }

    /// The head of a table's entry.
    fn record(&self, to: &mut Pairs, kind: &str, class: &str, owner: u32) -> u32 {
        to.text(0, kind);
        if !self.is_new() {
            return 0;
        }
        let handle = to.take();
        // The one sort of entry whose handle has a code of its own.
        to.handle(if kind == "DIMSTYLE" { 105 } else { 5 }, handle);
        to.handle(330, owner);
        to.text(100, "AcDbSymbolTableRecord");
        to.text(100, class);
        handle
    }

    fn line_types(&self, to: &mut Pairs) {
        let names: &[&str] =
            if self.is_new() { &["ByBlock", "ByLayer", "Continuous"] } else { &["CONTINUOUS"] };
        self.table(to, "LTYPE", names, |frame, to, (name, owner)| {
            frame.record(to, "LTYPE", "AcDbLinetypeTableRecord", owner);
            to.text(2, name);
            to.whole(70, 0);
            to.text(3, if name.starts_with("By") { "" } else { "Solid line" });
            to.whole(72, 65);
            to.whole(73, 0);
            to.mm(40, 0.0);
        });
    }

    fn layer_table(&self, to: &mut Pairs) {
        let names: Vec<&str> =
            std::iter::once("0").chain(self.layers.iter().map(|l| l.0)).collect();
        self.table(to, "LAYER", &names, |frame, to, (name, owner)| {
            frame.record(to, "LAYER", "AcDbLayerTableRecord", owner);
            let colour = frame.layers.iter().find(|l| l.0 == name).map_or(7, |l| l.1);
            to.text(2, name);
            to.whole(70, 0);
            to.whole(62, usize::from(colour));
            to.text(6, if frame.is_new() { "Continuous" } else { "CONTINUOUS" });
        });
    }

    fn styles(&self, to: &mut Pairs) {
        let name = if self.is_new() { "Standard" } else { "STANDARD" };
        self.table(to, "STYLE", &[name], |frame, to, (name, owner)| {
            frame.record(to, "STYLE", "AcDbTextStyleTableRecord", owner);
            to.text(2, name);
            to.whole(70, 0);
            to.mm(40, 0.0);
            to.mm(41, 1.0);
            to.mm(50, 0.0);
            to.whole(71, 0);
            to.mm(42, 2.5);
            to.text(3, "txt");
            to.text(4, "");
        });
    }

    fn dimension_styles(&self, to: &mut Pairs) {
        self.table(to, "DIMSTYLE", &["Standard"], |frame, to, (name, owner)| {
            frame.record(to, "DIMSTYLE", "AcDbDimStyleTableRecord", owner);
            to.text(2, name);
            to.whole(70, 0);
        });
    }

    fn block_records(&self, to: &mut Pairs) -> (u32, u32) {
        let mut handles = Vec::new();
        let names = ["*Model_Space", "*Paper_Space"];
        self.table(to, "BLOCK_RECORD", &names, |frame, to, (name, owner)| {
            handles.push(frame.record(to, "BLOCK_RECORD", "AcDbBlockTableRecord", owner));
            to.text(2, name);
        });
        match handles[..] {
            [model, paper] => (model, paper),
            _ => (0, 0),
        }
    }
}

fn section(to: &mut Pairs, name: &str) {
    to.text(0, "SECTION");
    to.text(2, name);
}

fn block(to: &mut Pairs, name: &str, record: u32, paper: bool) {
    let head = |to: &mut Pairs, kind: &str, class: &str| {
        to.text(0, kind);
        to.new_handle();
        to.handle(330, record);
        to.text(100, "AcDbEntity");
        if paper {
            to.whole(67, 1);
        }
        to.text(8, "0");
        to.text(100, class);
    };
    head(to, "BLOCK", "AcDbBlockBegin");
    to.text(2, name);
    to.whole(70, 0);
    to.point(10, Point::ORIGIN);
    to.text(3, name);
    to.text(1, "");
    head(to, "ENDBLK", "AcDbBlockEnd");
}
