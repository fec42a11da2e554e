//! What the files of a crate define and what they import, read from their text.
//!
//! A path such as `crate::output::Row` is followed through re-exports (`pub use row::Row`) to the
//! file that defines its last name, so that a `mod.rs` that only declares and re-exports does not
//! count as a dependency. Where the definition is not found (a macro made it, or `use x::*`), the
//! file of the deepest module that the path names counts instead.
//!
//! Paths in code count as those in `use` lines do, wherever they begin with `crate`, `super`,
//! `self`, a child module or an imported name; those inside macro calls and in the texts of
//! attributes too. A re-export is an import of the file that holds it. Left out are code under
//! `#[cfg(test)]`, which may use what stands above it, visibilities such as
//! `pub(in crate::output)`, what a macro of the crate expands to, and method calls, which name no
//! path.

use proc_macro2::{TokenStream, TokenTree};
use std::collections::{BTreeMap, BTreeSet};
use std::path::{Component, Path};
use syn::visit::{self, Visit};
use syn::{Attribute, Item, ItemUse, Macro, UseTree, Visibility};

/// A module by the names that lead to it from the crate's root.
type Module = Vec<String>;

/// A source file: its path below the crate's `src`, and its text.
pub type Source = (String, String);

/// The files of one crate and what each of them imports.
#[derive(Default)]
pub struct Imports {
    files: Vec<String>,
    /// The file of every module, also of those inside a file.
    modules: BTreeMap<Module, usize>,
    definitions: BTreeMap<(Module, String), usize>,
    /// Names that `use` lines bring into a module, and where they are from.
    names: BTreeMap<(Module, String), Vec<String>>,
    /// Modules of which all names are brought into a module.
    globs: BTreeMap<Module, Vec<Vec<String>>>,
    /// Every path a file names, from the crate's root.
    mentions: BTreeSet<(usize, Vec<String>)>,
}

impl Imports {
    /// Reads the files of a crate.
    ///
    /// # Panics
    /// When a file is not Rust.
    pub fn of(sources: &[Source]) -> Self {
        let parsed: Vec<(&str, syn::File)> = sources
            .iter()
            .map(|(name, text)| match syn::parse_file(text) {
                Ok(file) => (name.as_str(), file),
                Err(error) => panic!("{name} is not Rust: {error}"),
            })
            .collect();
        let (renamed, tests) = declared_elsewhere(&parsed);
        let mut imports = Self::default();
        let mut kept = Vec::new();
        for (name, file) in &parsed {
            let module = renamed.get(*name).cloned().unwrap_or_else(|| module_of(name));
            if tests.iter().any(|test| module.starts_with(test)) {
                continue;
            }
            imports.files.push((*name).to_owned());
            imports.define(&module, &file.items);
            kept.push((module, file));
        }
        for (file, (module, parsed)) in kept.into_iter().enumerate() {
            Reader { imports: &mut imports, file, module }.visit_file(parsed);
        }
        imports
    }

    /// Enters the names that `items` define in `module`, a part of the file read last.
    fn define(&mut self, module: &Module, items: &[Item]) {
        let file = self.files.len() - 1;
        self.modules.entry(module.clone()).or_insert(file);
        for item in items {
            if let Item::Mod(child) = item
                && !is_test(&child.attrs)
                && let Some((_, items)) = &child.content
            {
                self.define(&below(module, &child.ident.to_string()), items);
            }
            if let Some(name) = name_of(item) {
                self.definitions.insert((module.clone(), name), file);
            }
        }
    }

    /// From each file to those it imports, with a path that says so.
    pub fn edges(&self) -> BTreeMap<(&str, &str), String> {
        let mut edges = BTreeMap::new();
        for (file, path) in &self.mentions {
            for target in self.homes(path, 0) {
                if target != *file {
                    let ends = (self.files[*file].as_str(), self.files[target].as_str());
                    edges.entry(ends).or_insert_with(|| path.join("::"));
                }
            }
        }
        edges
    }

    /// The files that a path from the crate's root leads to: the one that defines its last name,
    /// or else the module's.
    fn homes(&self, path: &[String], followed: usize) -> Vec<usize> {
        const LONGEST: usize = 16;
        let mut module: Module = Vec::new();
        let mut rest = path;
        while let [name, after @ ..] = rest {
            let child = below(&module, name);
            if !self.modules.contains_key(&child) {
                break;
            }
            (module, rest) = (child, after);
        }
        if let [name, after @ ..] = rest
            && followed < LONGEST
        {
            let key = (module.clone(), name.clone());
            if let Some(file) = self.definitions.get(&key) {
                return vec![*file];
            }
            if let Some(origin) = self.names.get(&key) {
                let onwards: Vec<String> = origin.iter().chain(after).cloned().collect();
                return self.homes(&onwards, followed + 1);
            }
            for origin in self.globs.get(&module).into_iter().flatten() {
                let onwards: Vec<String> = origin.iter().chain(rest).cloned().collect();
                if self.defines(&onwards, followed + 1) {
                    return self.homes(&onwards, followed + 1);
                }
            }
        }
        self.modules.get(&module).copied().into_iter().collect()
    }

    /// Whether a path leads to a name that some file defines.
    fn defines(&self, path: &[String], followed: usize) -> bool {
        let known = |length: usize| self.modules.contains_key(&path[..length]);
        let depth = (0..path.len()).rev().find(|length| known(*length)).unwrap_or(0);
        let key = (path[..depth].to_vec(), path[depth].clone());
        followed < 16
            && (self.definitions.contains_key(&key)
                || self.names.contains_key(&key)
                || self.modules.contains_key(path))
    }

    /// The module `name` that a `use other::*` brings into `module`.
    fn module_by_glob(&self, module: &Module, name: &str) -> Option<Module> {
        let mut brought = self.globs.get(module)?.iter().map(|origin| below(origin, name));
        brought.find(|brought| self.modules.contains_key(brought))
    }

    /// A path as written in `module`, from the crate's root; `None` where it leads out of the
    /// crate or names something of the file's own.
    fn rooted(&self, module: &Module, path: &[String]) -> Option<Vec<String>> {
        let (first, rest) = path.split_first()?;
        let mut start: Vec<String> = match first.as_str() {
            "crate" => Vec::new(),
            "self" => module.clone(),
            "super" => module[..module.len().checked_sub(1)?].to_vec(),
            name if self.modules.contains_key(&below(module, name)) => below(module, name),
            name => match self.names.get(&(module.clone(), name.to_owned())) {
                Some(origin) => origin.clone(),
                None => self.module_by_glob(module, name)?,
            },
        };
        for name in rest {
            match name.as_str() {
                "super" => drop(start.pop()?),
                "self" => {}
                name => start.push(name.to_owned()),
            }
        }
        Some(start)
    }
}

/// Reads one file.
struct Reader<'a> {
    imports: &'a mut Imports,
    file: usize,
    module: Module,
}

impl Reader<'_> {
    fn mention(&mut self, path: &[String]) {
        if let Some(path) = self.imports.rooted(&self.module, path) {
            self.imports.mentions.insert((self.file, path));
        }
    }

    /// Enters a `use` line; `path` is what stands before `tree`.
    fn enter(&mut self, tree: &UseTree, path: &mut Vec<String>) {
        let (last, known_as) = match tree {
            UseTree::Path(part) => {
                path.push(part.ident.to_string());
                self.enter(&part.tree, path);
                path.pop();
                return;
            }
            UseTree::Group(group) => {
                group.items.iter().for_each(|tree| self.enter(tree, path));
                return;
            }
            UseTree::Glob(_) => {
                self.mention(path);
                if let Some(origin) = self.imports.rooted(&self.module, path) {
                    self.imports.globs.entry(self.module.clone()).or_default().push(origin);
                }
                return;
            }
            UseTree::Name(name) => (name.ident.to_string(), None),
            UseTree::Rename(name) => (name.ident.to_string(), Some(name.rename.to_string())),
        };
        let last_name = if last == "self" { path.last().cloned() } else { Some(last.clone()) };
        path.push(last);
        self.mention(path);
        let origin = self.imports.rooted(&self.module, path);
        if let (Some(origin), Some(name)) = (origin, known_as.or(last_name)) {
            self.imports.names.insert((self.module.clone(), name), origin);
        }
        path.pop();
    }

    /// Paths in the arguments of a macro, which are not parsed yet.
    fn scan(&mut self, tokens: TokenStream) {
        let mut path: Vec<String> = Vec::new();
        let mut colons = 0;
        for token in tokens {
            match token {
                TokenTree::Punct(mark) if mark.as_char() == ':' => {
                    colons += 1;
                    continue;
                }
                TokenTree::Ident(name) => {
                    if colons != 2 {
                        self.mention_if_long(&path);
                        path.clear();
                    }
                    path.push(name.to_string());
                }
                TokenTree::Group(group) => {
                    self.mention_if_long(&path);
                    path.clear();
                    self.scan(group.stream());
                }
                _ => {
                    self.mention_if_long(&path);
                    path.clear();
                }
            }
            colons = 0;
        }
        self.mention_if_long(&path);
    }

    fn mention_if_long(&mut self, path: &[String]) {
        if path.len() > 1 {
            self.mention(path);
        }
    }
}

impl<'ast> Visit<'ast> for Reader<'_> {
    fn visit_file(&mut self, file: &'ast syn::File) {
        // The `use` lines first: what they bring in may be named above them.
        visit_uses(self, &file.items);
        visit::visit_file(self, file);
    }

    fn visit_item(&mut self, item: &'ast Item) {
        if !is_test(attributes(item)) {
            visit::visit_item(self, item);
        }
    }

    fn visit_impl_item_fn(&mut self, item: &'ast syn::ImplItemFn) {
        if !is_test(&item.attrs) {
            visit::visit_impl_item_fn(self, item);
        }
    }

    fn visit_item_mod(&mut self, item: &'ast syn::ItemMod) {
        let Some((_, items)) = &item.content else { return };
        self.module.push(item.ident.to_string());
        visit_uses(self, items);
        visit::visit_item_mod(self, item);
        self.module.pop();
    }

    fn visit_item_use(&mut self, item: &'ast ItemUse) {
        self.enter(&item.tree, &mut Vec::new());
    }

    fn visit_path(&mut self, path: &'ast syn::Path) {
        let names: Vec<String> = path.segments.iter().map(|part| part.ident.to_string()).collect();
        self.mention_if_long(&names);
        visit::visit_path(self, path);
    }

    fn visit_macro(&mut self, item: &'ast Macro) {
        self.visit_path(&item.path);
        self.scan(item.tokens.clone());
    }

    /// `#[serde(serialize_with = "crate::output::text")]` names a path in a text.
    fn visit_attribute(&mut self, attribute: &'ast Attribute) {
        let syn::Meta::List(list) = &attribute.meta else { return };
        for token in list.tokens.clone() {
            if let TokenTree::Literal(text) = token {
                let text = text.to_string();
                let names = text.trim_matches('"').split("::").map(str::to_owned);
                self.mention_if_long(&names.collect::<Vec<_>>());
            }
        }
    }

    fn visit_visibility(&mut self, _: &'ast Visibility) {}
}

fn visit_uses(reader: &mut Reader<'_>, items: &[Item]) {
    for item in items {
        if let Item::Use(line) = item
            && !is_test(&line.attrs)
        {
            reader.visit_item_use(line);
        }
    }
}

/// Modules whose file is not where its name says (`#[path]`), by file; and modules of tests in
/// files of their own.
fn declared_elsewhere(
    parsed: &[(&str, syn::File)],
) -> (BTreeMap<String, Module>, BTreeSet<Module>) {
    let (mut renamed, mut tests) = (BTreeMap::new(), BTreeSet::new());
    for (name, file) in parsed {
        let module = module_of(name);
        if is_test(&file.attrs) {
            tests.insert(module.clone());
        }
        for item in &file.items {
            let Item::Mod(child) = item else { continue };
            let child_module = below(&module, &child.ident.to_string());
            if is_test(&child.attrs) {
                tests.insert(child_module);
            } else if let Some(path) = path_of(&child.attrs) {
                let folder = Path::new(name).parent().unwrap_or(Path::new(""));
                renamed.insert(plain(&folder.join(path)), child_module);
            }
        }
    }
    (renamed, tests)
}

/// The module that a file is by its place: `output/csv.rs` is `output::csv`, `output/mod.rs` is
/// `output`, `lib.rs` and `main.rs` are the root.
fn module_of(file: &str) -> Module {
    let path = file.strip_suffix(".rs").unwrap_or(file);
    let mut module: Module = path.split('/').map(str::to_owned).collect();
    if matches!(module.last().map(String::as_str), Some("mod" | "lib" | "main")) {
        module.pop();
    }
    module
}

fn below(module: &[String], name: &str) -> Module {
    module.iter().cloned().chain([name.to_owned()]).collect()
}

/// A path without `.` and `..`.
fn plain(path: &Path) -> String {
    let mut parts: Vec<String> = Vec::new();
    for part in path.components() {
        match part {
            Component::ParentDir => drop(parts.pop()),
            Component::Normal(name) => parts.push(name.to_string_lossy().into_owned()),
            _ => {}
        }
    }
    parts.join("/")
}

/// `#[cfg(test)]`, alone or among others that must all hold, or `#[test]`.
fn is_test(attributes: &[Attribute]) -> bool {
    attributes.iter().any(|attribute| {
        if attribute.path().is_ident("test") {
            return true;
        }
        let Ok(list) = attribute.meta.require_list() else { return false };
        if !list.path.is_ident("cfg") {
            return false;
        }
        let text = list.tokens.to_string();
        text == "test"
            || (text.starts_with("all") && text.contains("test") && !text.contains("not"))
    })
}

/// The file that `#[path = "..."]` names.
fn path_of(attributes: &[Attribute]) -> Option<String> {
    let attribute = attributes.iter().find(|attribute| attribute.path().is_ident("path"))?;
    match &attribute.meta.require_name_value().ok()?.value {
        syn::Expr::Lit(syn::ExprLit { lit: syn::Lit::Str(text), .. }) => Some(text.value()),
        _ => None,
    }
}

/// The name that an item defines.
fn name_of(item: &Item) -> Option<String> {
    let name = match item {
        Item::Const(item) => &item.ident,
        Item::Enum(item) => &item.ident,
        Item::Fn(item) => &item.sig.ident,
        Item::Macro(item) => item.ident.as_ref()?,
        Item::Static(item) => &item.ident,
        Item::Struct(item) => &item.ident,
        Item::Trait(item) => &item.ident,
        Item::TraitAlias(item) => &item.ident,
        Item::Type(item) => &item.ident,
        Item::Union(item) => &item.ident,
        _ => return None,
    };
    Some(name.to_string())
}

fn attributes(item: &Item) -> &[Attribute] {
    match item {
        Item::Const(item) => &item.attrs,
        Item::Enum(item) => &item.attrs,
        Item::Fn(item) => &item.attrs,
        Item::Impl(item) => &item.attrs,
        Item::Macro(item) => &item.attrs,
        Item::Mod(item) => &item.attrs,
        Item::Static(item) => &item.attrs,
        Item::Struct(item) => &item.attrs,
        Item::Trait(item) => &item.attrs,
        Item::Type(item) => &item.attrs,
        Item::Use(item) => &item.attrs,
        _ => &[],
    }
}
