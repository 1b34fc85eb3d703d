//! Random numbers that are the same on every machine: xorshift64* (Vigna, "An experimental exploration of Marsaglia's
//! xorshift generators, scrambled", 2016).

#[derive(Debug, Clone)]
pub(super) struct Dice(u64);

impl Dice {
    pub(super) fn new(seed: u64) -> Self {
        // Zero is the one state that never changes; small seeds are spread first.
        let spread = seed.wrapping_add(1).wrapping_mul(0x9E37_79B9_7F4A_7C15);
        let mut dice = Self(spread | 1);
        for _ in 0..4 {
            dice.next();
        }
        dice
    }

    fn next(&mut self) -> u64 {
        self.0 ^= self.0 >> 12;
        self.0 ^= self.0 << 25;
        self.0 ^= self.0 >> 27;
        self.0.wrapping_mul(0x2545_F491_4F6C_DD1D)
    }

    /// A number below `end`; 0 for 0.
    pub(super) fn below(&mut self, end: usize) -> usize {
        let drawn = (self.next() >> 33) as usize;
        if end == 0 { 0 } else { drawn % end }
    }

    /// True so many times in a hundred.
    pub(super) fn often(&mut self, percent: usize) -> bool {
        self.below(100) < percent
    }

    pub(super) fn one<'a, T>(&mut self, all: &'a [T]) -> Option<&'a T> {
        all.get(self.below(all.len()))
    }

    /// One of a list that is not empty.
    pub(super) fn of<T: Clone>(&mut self, all: &[T]) -> T {
        all[self.below(all.len())].clone()
    }

    /// From 0 to 1.
    pub(super) fn unit(&mut self) -> f64 {
        (self.next() >> 11) as f64 / (1_u64 << 53) as f64
    }
}
