//! pouchwork
pub mod fault;
pub mod geom;
pub mod lay;
pub mod machine;
pub mod material;
pub mod part;
pub mod plan;
pub mod safety;
pub mod sheet;
pub mod units;
