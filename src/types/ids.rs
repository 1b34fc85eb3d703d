//! Things with their numbers, so that nobody counts by hand.

use super::model::{
    Field, FieldId, Instance, InstanceId, Kind, KindId, RecordId, Run, Standard, Stated, Target,
};

/// Numbers what an iterator gives, from 0.
fn numbered<T>(items: impl Iterator<Item = T>) -> impl Iterator<Item = (u32, T)> {
    (0..=u32::MAX).zip(items)
}

macro_rules! id {
    ($($name:ident),*) => {$(
        impl $name {
            /// The number of what stands at this index.
            #[must_use]
            pub fn at(index: usize) -> Self {
                // A text is at most 4 GB, so that nothing in it has a larger number.
                Self(u32::try_from(index).unwrap_or(u32::MAX))
            }

            /// Its place in the list it numbers.
            #[must_use]
            pub const fn index(self) -> usize {
                self.0 as usize
            }
        }
    )*};
}

id!(KindId, FieldId, RecordId, InstanceId);

impl Standard {
    /// All kinds with their numbers.
    pub fn numbered_kinds(&self) -> impl Iterator<Item = (KindId, &Kind)> {
        numbered(self.kinds.iter()).map(|(number, kind)| (KindId(number), kind))
    }

    /// All records with their numbers.
    pub fn numbered_records(&self) -> impl Iterator<Item = (RecordId, &Instance)> {
        numbered(self.records.iter()).map(|(number, record)| (RecordId(number), record))
    }

    /// All settings of all kinds.
    pub fn numbered_fields(&self) -> impl Iterator<Item = (KindId, FieldId, &Field)> {
        self.numbered_kinds().flat_map(|(id, kind)| {
            kind.numbered_fields()
                .map(move |(field, of)| (id, field, of))
        })
    }

    /// All records of a kind, in the order written.
    pub fn records_of(&self, kind: KindId) -> impl Iterator<Item = (RecordId, &Instance)> {
        self.numbered_records()
            .filter(move |(_, of)| of.kind == kind)
    }

    /// A record and those it takes values from, the nearest first.
    pub fn ancestry(&self, record: RecordId) -> impl Iterator<Item = RecordId> {
        std::iter::successors(Some(record), |at| self.record(*at).parent)
            // Nobody is its own ancestor in a text without mistakes; in one with, this ends all the same.
            .take(self.records.len())
    }
}

impl Kind {
    /// All settings with their numbers.
    pub fn numbered_fields(&self) -> impl Iterator<Item = (FieldId, &Field)> {
        numbered(self.fields.iter()).map(|(number, field)| (FieldId(number), field))
    }
}

impl super::model::Value {
    /// The choice at this place of its list.
    #[must_use]
    pub fn choice(index: usize) -> Self {
        Self::Choice(u32::try_from(index).unwrap_or(u32::MAX))
    }
}

impl Instance {
    /// What it states itself, with the numbers of the settings.
    pub fn own_values(&self) -> impl Iterator<Item = (FieldId, &Stated)> {
        let values = numbered(self.values.iter());
        values.filter_map(|(number, stated)| Some((FieldId(number), stated.as_ref()?)))
    }
}

impl Run {
    /// All things with their numbers.
    pub fn numbered_instances(&self) -> impl Iterator<Item = (InstanceId, &Instance)> {
        numbered(self.instances.iter()).map(|(number, instance)| (InstanceId(number), instance))
    }

    /// All settings of all things, stated or not: the leaves of the run.
    pub fn leaves<'a>(
        &'a self,
        standard: &'a Standard,
    ) -> impl Iterator<Item = (Target, FieldId, &'a Field)> {
        self.numbered_instances().flat_map(|(id, instance)| {
            standard
                .kind(instance.kind)
                .numbered_fields()
                .map(move |(field, of)| (Target::Thing(id), field, of))
        })
    }
}
