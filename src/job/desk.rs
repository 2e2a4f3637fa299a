//! Where a job is read: the shelf, the heap of faults, and what has been read so far.

use super::document::{Document, Heap, MOST_BYTES, decode_up_to};
use super::{Found, Input, JOB_FILE, Shelf, Which, builtin};
use crate::fault::{Fault, Place, Sources};
use std::cell::RefCell;
use std::collections::{BTreeMap, BTreeSet};
use std::sync::Arc;

/// The shelf with everything that is gathered on the way.
pub(super) struct Desk<'a> {
    /// Hands out files.
    pub(super) shelf: &'a dyn Shelf,
    /// Takes faults.
    pub(super) heap: Heap,
    sources: RefCell<&'a mut Sources>,
    inputs: RefCell<BTreeMap<String, Vec<u8>>>,
}

impl<'a> Desk<'a> {
    /// An empty desk.
    pub(super) fn new(shelf: &'a dyn Shelf, sources: &'a mut Sources) -> Desk<'a> {
        Desk {
            shelf,
            heap: Heap::default(),
            sources: RefCell::new(sources),
            inputs: RefCell::default(),
        }
    }

    /// The files that were read, by path.
    pub(super) fn take_inputs(&mut self) -> Vec<Input> {
        std::mem::take(self.inputs.get_mut())
            .into_iter()
            .map(|(path, bytes)| Input { path, bytes })
            .collect()
    }

    /// Every fault, in order.
    pub(super) fn finish(self) -> Vec<Fault> {
        self.heap.finish()
    }

    /// The job file.
    pub(super) fn job_file(&self) -> Option<Document> {
        let file: Arc<str> = Arc::from(JOB_FILE);
        match self.shelf.read(Which::Job, JOB_FILE) {
            Found::Bytes(bytes) => self.document(JOB_FILE, bytes),
            Found::Missing => {
                self.heap.add(
                    Fault::error("E01", "there is no job.toml here").at(&Place::head(&file)).cure(
                        "start one with `pouchwork new NAME`, or give the path of the job's folder",
                    ),
                );
                None
            }
            Found::Unreadable(why) => {
                self.heap.add(unreadable(JOB_FILE, &why, &Place::head(&file)));
                None
            }
        }
    }

    /// The bytes of another file of the job; `from` is where it is named.
    pub(super) fn file(&self, path: &str, from: &Place) -> Option<Vec<u8>> {
        match self.shelf.read(Which::Job, path) {
            Found::Bytes(bytes) => Some(bytes),
            Found::Unreadable(why) => {
                self.heap.add(unreadable(path, &why, from));
                None
            }
            Found::Missing => {
                let there = self.shelf.list(Which::Job);
                let known: Vec<&str> = there.iter().map(String::as_str).collect();
                let cure = match super::codes::meant(path, &known) {
                    Some(name) => format!("did you mean \"{name}\"?"),
                    None => "look for the file, or for its name".to_owned(),
                };
                self.heap.add(
                    Fault::error("E36", format!("there is no {path} in the job folder"))
                        .at(from)
                        .cure(cure),
                );
                None
            }
        }
    }

    /// Reports a file that is there and cannot be read, though nothing in the job names it.
    pub(super) fn unreadable(&self, path: &str, why: &str) {
        self.heap.add(unreadable(path, why, &Place::head(&Arc::from(path))));
    }

    /// Notes that a file was read.
    pub(super) fn note_input(&self, path: &str, bytes: Vec<u8>) {
        self.inputs.borrow_mut().insert(path.to_owned(), bytes);
    }

    /// Bytes as a text with its lines; noted as an input, kept among the sources.
    pub(super) fn document(&self, shown: &str, bytes: Vec<u8>) -> Option<Document> {
        let document = self.text(shown, &bytes, MOST_BYTES)?;
        self.note_input(shown, bytes);
        Some(document)
    }

    /// Bytes, up to so many, as a text with its lines; kept among the sources and no input of its own.
    pub(super) fn text(&self, shown: &str, bytes: &[u8], most: usize) -> Option<Document> {
        let file: Arc<str> = Arc::from(shown);
        let text = match decode_up_to(bytes, &file, most) {
            Ok(text) => text,
            Err((text, fault)) => {
                self.sources.borrow_mut().keep(&file, &text);
                self.heap.add(*fault);
                return None;
            }
        };
        self.sources.borrow_mut().keep(&file, &text);
        Some(Document::new(&file, &text))
    }

    /// A profile's text, wherever it is found first; a fault at every place that names it where there is none.
    pub(super) fn profile(&self, folder: &str, name: &str, from: &[Place]) -> Option<Document> {
        let path = format!("{folder}/{name}.toml");
        for (which, shown) in
            [(Which::Job, path.clone()), (Which::Own, format!("own profile {path}"))]
        {
            match self.shelf.read(which, &path) {
                Found::Bytes(bytes) => return self.document(&shown, bytes),
                Found::Missing => {}
                Found::Unreadable(why) => {
                    let head = Place::head(&Arc::from(shown.as_str()));
                    let place = from.first().unwrap_or(&head);
                    self.heap.add(unreadable(&shown, &why, place));
                    return None;
                }
            }
        }
        if let Some(text) = builtin::profile(&path) {
            return self.document(&format!("built-in {path}"), text.as_bytes().to_vec());
        }
        let known = self.known(folder);
        let known: Vec<&str> = known.iter().map(String::as_str).collect();
        let near = super::codes::meant(name, &known);
        let there = near.map_or_else(String::new, |near| format!("; there is {near}"));
        let mut fault = Fault::error("E15", format!("there is no {path}{there}"));
        for place in from {
            fault = fault.at(place);
        }
        self.heap.add(fault.cure(format!(
            "looked in the job folder, your own profiles and the built-in ones, which have: {}",
            known.join(", ")
        )));
        None
    }

    fn known(&self, folder: &str) -> BTreeSet<String> {
        let lists = [
            self.shelf.list(Which::Job),
            self.shelf.list(Which::Own),
            builtin::PROFILES.iter().map(|(path, _)| (*path).to_owned()).collect(),
        ];
        lists
            .iter()
            .flatten()
            .filter_map(|path| path.strip_prefix(folder)?.strip_prefix('/')?.strip_suffix(".toml"))
            .filter(|name| !name.contains('/'))
            .map(str::to_owned)
            .collect()
    }
}

fn unreadable(path: &str, why: &str, place: &Place) -> Fault {
    Fault::error("E36", format!("{path} can't be read: {}", super::codes::quoted(why)))
        .at(place)
        .cure("see that it is a file that you may read")
}
