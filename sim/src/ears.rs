//! One or two values: that of the instrument under test, and that of the one it is compared with.

/// A value for the left ear, and one for the right where two instruments run side by side.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Ears<T> {
    /// The instrument under test.
    pub left: T,
    /// The one it is compared with.
    pub right: Option<T>,
}

impl<T> Ears<T> {
    /// The same for both.
    pub fn map<U>(self, mut change: impl FnMut(T) -> U) -> Ears<U> {
        let left = change(self.left);
        Ears { left, right: self.right.map(change) }
    }

    /// References to both.
    pub fn as_ref(&self) -> Ears<&T> {
        Ears { left: &self.left, right: self.right.as_ref() }
    }

    /// One or two.
    pub fn count(&self) -> u16 {
        if self.right.is_some() { 2 } else { 1 }
    }

    /// Left, then right where there is one.
    pub fn iter(&self) -> impl Iterator<Item = &T> {
        std::iter::once(&self.left).chain(self.right.as_ref())
    }

    /// Left, then right where there is one, to be changed.
    pub fn iter_mut(&mut self) -> impl Iterator<Item = &mut T> {
        std::iter::once(&mut self.left).chain(self.right.as_mut())
    }
}
