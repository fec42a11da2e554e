//! What is done before a program waits for the next piece of a live input: what has been made of
//! the pieces before goes out.

use std::cell::RefCell;
use std::rc::Rc;

type Action = Box<dyn Fn()>;

/// Things to do before waiting; shared between the input that waits and the outputs.
#[derive(Clone, Default)]
pub struct Waiting(Rc<RefCell<Vec<Action>>>);

impl Waiting {
    /// Adds one.
    pub fn add(&self, action: impl Fn() + 'static) {
        self.0.borrow_mut().push(Box::new(action));
    }

    /// Does them all, now that the wait begins.
    pub fn begins(&self) {
        self.0.borrow().iter().for_each(|action| action());
    }
}
