//! A run with one step more, to see what that would do.

use super::carried::Carried;
use super::model::{Instance, InstanceId, KindId, Run, Stated, Target, Value};

impl Run {
    /// The same run with a step put in at a place of the sequence, counted from 0; the step that stood
    /// there comes after it. `None` when the run has no step at that place.
    ///
    /// Every number of a thing from there on is one higher, as if the plan had been read with the step.
    #[must_use]
    pub fn with_step(
        &self,
        place: usize,
        kind: KindId,
        values: Vec<Option<Stated>>,
    ) -> Option<Self> {
        let at = *self.steps.get(place)?;
        let moved = |id: &InstanceId| Self::moved(*id, at);
        let mut run = Self {
            file: self.file,
            name: self.name.clone(),
            span: self.span,
            instances: self.instances.clone(),
            singles: self
                .singles
                .iter()
                .map(|id| id.as_ref().map(moved))
                .collect(),
            many: self
                .many
                .iter()
                .map(|things| things.iter().map(moved).collect())
                .collect(),
            steps: self.steps.iter().map(moved).collect(),
            sequence: self.sequence,
            end: self.end,
            on: self.on,
            readings: self.readings.iter().map(|of| of.moved(at)).collect(),
            set_aside: self
                .set_aside
                .iter()
                .map(|(target, field)| (target.moved(at), *field))
                .collect(),
        };
        for instance in &mut run.instances {
            for stated in instance.values.iter_mut().flatten() {
                if let Value::Reference(Target::Thing(id)) = &mut stated.value {
                    *id = moved(id);
                }
                for taken in stated.taken.iter_mut().flat_map(|taken| &mut taken.at) {
                    taken.target = taken.target.moved(at);
                }
            }
        }
        let step = Instance {
            kind,
            name: String::new(),
            title: None,
            header: self.instance(at).header.map(|header| header.before()),
            insert: None,
            values,
            calibrations: Vec::new(),
            parent: None,
            not_listed: false,
        };
        run.instances.insert(at.0 as usize, step);
        run.steps.insert(place, at);
        let same = run.many.get_mut(kind.0 as usize)?;
        let index = same.iter().take_while(|id| **id < at).count();
        same.insert(index, at);
        Some(run)
    }

    /// What the number of a thing becomes when a step is put in with the number `at`.
    #[must_use]
    pub fn moved(id: InstanceId, at: InstanceId) -> InstanceId {
        if id < at { id } else { InstanceId(id.0 + 1) }
    }
}

impl Target {
    /// What it becomes when a step is put in with the number `at`.
    fn moved(self, at: InstanceId) -> Self {
        match self {
            Self::Thing(id) => Self::Thing(Run::moved(id, at)),
            Self::Record(_) => self,
        }
    }
}

impl Carried {
    /// Whether it speaks of another run where a step of a kind is put in.
    #[must_use]
    pub fn goes_by(&self, step: KindId) -> bool {
        self.any_step || self.steps.contains(&step)
    }

    fn moved(&self, at: InstanceId) -> Self {
        let mut moved = self.clone();
        moved.target = moved.target.moved(at);
        for dial in &mut moved.dials {
            dial.target = dial.target.moved(at);
        }
        moved
    }
}
