//! From a restorer's measured table to cut files that fit: the rooms of pouchwork and the way through them.
//!
//! ```text
//! job.toml + tables + profiles   every fault at once, with its place            job
//!   -> parts (measures)          a kind, its companions; shape and worked sum   part
//!   -> shapes                    true arcs, mm, f64                             geom
//!   -> pieces                    a shape for a place, stretch and trim in it    part
//!   -> sheets                    hides, cloth widths, leaves                    sheet
//!   -> layout                    inside, clear of flaws, gap and grain kept     lay
//!   -> cut plan                  strokes in order, room for the kerf            plan
//!   -> files                     svg, dxf, pdf, pictures: same bytes every time write
//!   -> proof                     the written bytes read back by other code      prove
//! ```
//!
//! Imports are not the flow. Bottom to top, each room uses only what stands above it in this list:
//!
//! | room | holds |
//! | --- | --- |
//! | [`units`] | lengths as written, drills, fractions |
//! | [`fault`] | what is wrong, where, and what to type |
//! | [`geom`] | loops of true arcs, offset, inside, distance |
//! | [`letters`] | a single-stroke face, words made harmless |
//! | [`material`], [`machine`] | records with sources |
//! | [`part`] | kinds of part with their companions, sums, pieces; the papers of valves |
//! | [`sheet`] | hides, cloth, leaves, flaws |
//! | [`lay`] | kernel, search, proof of a layout, its record |
//! | [`coupon`] | test pieces for width of the cut, stretch, gap and smallest hole, and what their readings come to |
//! | [`order`] | how much to buy: trial lays on nominal sheets, published rules |
//! | [`plan`] | kerf, order, time, heat, a knife's pivot, the 100 mm rule, strokes |
//! | [`mod@write`] | svg, dxf, manifest, pictures, paper templates |
//! | [`mod@prove`] | own readers, invariants of a written file |
//! | [`read`] | outlines from svg and dxf, behind caps |
//! | [`safety`] | hard stops, the safety list with its sums and its record |
//! | [`stock`] | the text of the stock record changed: sheets, claims, cuts, remnants; its log |
//! | [`job`] | job file, tables, profiles, pieces gathered |
//! | [`cli`] | commands; the only room that prints, reads the clock and touches the disk |
//!
//! Everything is millimetres and f64, y up; only text carries other units.

pub mod cli;
pub mod coupon;
pub mod fault;
pub mod geom;
pub mod job;
pub mod lay;
pub mod letters;
pub mod machine;
pub mod material;
pub mod order;
pub mod part;
pub mod plan;
pub mod prove;
pub mod read;
pub mod safety;
pub mod sheet;
pub mod stock;
pub mod units;
pub mod write;
