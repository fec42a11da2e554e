//! Bits carried into a page or out of it, by one and the same code: a writer takes the value that
//! it is given, a reader gives the value that it finds.

/// Either end of a page.
pub trait Bits {
    /// Writes the `count` lowest bits of `value`, 32 at most, or reads as many; the value that is
    /// now in the page. `None` where the page ends.
    fn carry(&mut self, value: u32, count: u32) -> Option<u32>;
}

/// Writes from a bit on; bits that were not written stay ones, as in erased flash.
pub struct Writer<'a> {
    bytes: &'a mut [u8],
    at: usize,
}

impl<'a> Writer<'a> {
    /// From the bit `at` on.
    pub fn new(bytes: &'a mut [u8], at: usize) -> Self {
        Self { bytes, at }
    }

    /// The bit behind the last one written.
    pub fn at(&self) -> usize {
        self.at
    }
}

impl Bits for Writer<'_> {
    fn carry(&mut self, value: u32, count: u32) -> Option<u32> {
        let mut left = count.min(32);
        while left > 0 {
            let byte = self.bytes.get_mut(self.at / 8)?;
            let free = 8 - (self.at % 8) as u32;
            let taken = free.min(left);
            let ones = (1_u32 << taken) - 1;
            let (part, shift) = ((value >> (left - taken)) & ones, free - taken);
            *byte = (u32::from(*byte) & !(ones << shift) | part << shift) as u8;
            self.at += taken as usize;
            left -= taken;
        }
        Some(value)
    }
}

/// Reads from the first bit on.
#[derive(Clone, Debug)]
pub struct Reader<'a> {
    bytes: &'a [u8],
    at: usize,
}

impl<'a> Reader<'a> {
    /// From the bit `at` on.
    pub fn new(bytes: &'a [u8], at: usize) -> Self {
        Self { bytes, at }
    }

    /// The bit behind the last one read.
    pub fn at(&self) -> usize {
        self.at
    }
}

impl Bits for Reader<'_> {
    fn carry(&mut self, _: u32, count: u32) -> Option<u32> {
        let (mut value, mut left) = (0, count.min(32));
        while left > 0 {
            let byte = u32::from(*self.bytes.get(self.at / 8)?);
            let free = 8 - (self.at % 8) as u32;
            let taken = free.min(left);
            let ones = (1_u32 << taken) - 1;
            value = value << taken | (byte >> (free - taken)) & ones;
            self.at += taken as usize;
            left -= taken;
        }
        Some(value)
    }
}
