//! The modules of a crate, and what each takes from which.

use std::collections::{BTreeMap, BTreeSet};

use crate::text::code;

/// A module's place: its name and those of the modules above it.
pub(crate) type Path = Vec<String>;

/// Which module takes what from which.
pub(crate) type Needs = BTreeMap<(Path, Path), BTreeSet<String>>;

/// The modules of a crate, but for those that tests alone see.
#[derive(Default)]
pub(crate) struct Modules(BTreeMap<Path, Module>);

#[derive(Default)]
struct Module {
    /// What it imports, by the name under which it has it.
    uses: BTreeMap<String, Vec<Path>>,
    /// Every path in it.
    paths: Vec<Path>,
}

impl Modules {
    /// From the files of a crate: each by its path without the ending.
    pub(crate) fn of(files: Vec<(Path, String)>) -> Self {
        let codes = files.into_iter().map(|(mut path, text)| {
            if matches!(
                path.last().map(String::as_str),
                Some("mod" | "lib" | "main")
            ) {
                path.pop();
            }
            (path, code(&text))
        });
        let codes: BTreeMap<Path, String> = codes.collect();
        let mut modules = Self::default();
        modules.add(&codes, Path::new());
        modules
    }

    /// Adds the module, and those that it declares.
    fn add(&mut self, codes: &BTreeMap<Path, String>, path: Path) {
        let Some(code) = codes.get(&path) else { return };
        let words = words(code);
        for pair in words.windows(3) {
            if let [keyword, name, end] = pair
                && keyword == "mod"
                && end == ";"
            {
                let mut child = path.clone();
                child.push(name.clone());
                self.add(codes, child);
            }
        }
        self.0.insert(path, Module::of(&words));
    }

    pub(crate) fn len(&self) -> usize {
        self.0.len()
    }

    /// What each takes from others.
    pub(crate) fn needs(&self) -> Needs {
        let mut needs = Needs::new();
        for (own, module) in &self.0 {
            for path in &module.paths {
                if let Some((from, what)) = self.meant(own, path, 0)
                    && from != *own
                {
                    needs.entry((own.clone(), from)).or_default().insert(what);
                }
            }
        }
        needs
    }

    /// The module in which what a path names is defined, and its name there.
    fn meant(&self, own: &Path, path: &[String], depth: usize) -> Option<(Path, String)> {
        // A name may be imported under its own, from outside.
        if depth > 10 {
            return None;
        }
        let (first, mut rest) = path.split_first()?;
        let mut at = own.clone();
        match first.as_str() {
            "crate" => at.clear(),
            "self" => {}
            "super" => {
                at.pop()?;
                while let Some(("super", more)) = rest.split_first().map(|(a, b)| (a.as_str(), b)) {
                    at.pop()?;
                    rest = more;
                }
            }
            name if self.child(own, name).is_some() => rest = path,
            name => {
                let imported = self.0.get(own)?.uses.get(name)?.iter();
                let mut imported = imported.filter(|import| import.first() != Some(first));
                return imported.find_map(|import| {
                    let whole: Path = import.iter().chain(rest).cloned().collect();
                    self.meant(own, &whole, depth + 1)
                });
            }
        }
        while let Some((name, more)) = rest.split_first()
            && let Some(child) = self.child(&at, name)
        {
            at = child;
            rest = more;
        }
        let Some((name, more)) = rest.split_first() else {
            return Some((at, "self".to_owned()));
        };
        let reexports = self.0.get(&at)?.uses.get(name).into_iter().flatten();
        let defined = reexports
            .map(|import| import.iter().chain(more).cloned().collect::<Path>())
            .filter_map(|whole| self.meant(&at, &whole, depth + 1))
            .find(|(from, _)| *from != at);
        Some(defined.unwrap_or_else(|| (at, name.clone())))
    }

    fn child(&self, of: &Path, name: &str) -> Option<Path> {
        let mut child = of.clone();
        child.push(name.to_owned());
        self.0.contains_key(&child).then_some(child)
    }
}

impl Module {
    fn of(words: &[String]) -> Self {
        let mut module = Self::default();
        let mut at = 0;
        while at < words.len() {
            if words[at] == "use" {
                let end = words[at..].iter().position(|word| word == ";");
                let end = at + end.unwrap_or(words.len() - at);
                module.import(&words[at + 1..end]);
                at = end;
            } else if words.get(at + 1).is_some_and(|next| next == "::") {
                let path = path_at(&words[at..]);
                at += 2 * path.len() - 1;
                module.paths.push(path);
            } else {
                at += 1;
            }
        }
        module
    }

    fn import(&mut self, tree: &[String]) {
        for (path, name) in leaves(&Path::new(), tree) {
            self.uses.entry(name).or_default().push(path.clone());
            self.paths.push(path);
        }
    }
}

/// The paths of a tree of imports, each with the name that it has here.
fn leaves(above: &Path, tree: &[String]) -> Vec<(Path, String)> {
    let mut path = above.clone();
    let mut words = tree.iter().enumerate();
    while let Some((at, word)) = words.next() {
        match word.as_str() {
            "::" => {}
            "{" => {
                let inner = &tree[at + 1..tree.len() - 1];
                let each = apart(inner).into_iter();
                return each.flat_map(|tree| leaves(&path, tree)).collect();
            }
            "as" => {
                let name = words.next().map(|(_, name)| name.clone());
                return vec![(path, name.unwrap_or_default())];
            }
            "self" if !path.is_empty() => {}
            name => path.push(name.to_owned()),
        }
    }
    let name = path.last().cloned().unwrap_or_default();
    vec![(path, name)]
}

/// What stands between the outer commas.
fn apart(words: &[String]) -> Vec<&[String]> {
    let mut depth = 0;
    let parts = words.split(|word| {
        match word.as_str() {
            "{" => depth += 1,
            "}" => depth -= 1,
            _ => {}
        }
        depth == 0 && word == ","
    });
    parts.filter(|part| !part.is_empty()).collect()
}

/// The path with which these words begin.
fn path_at(words: &[String]) -> Path {
    let mut path = vec![words[0].clone()];
    let mut rest = &words[1..];
    while let [colons, name, more @ ..] = rest
        && colons == "::"
        && is_name(name)
    {
        path.push(name.clone());
        rest = more;
    }
    path
}

fn is_name(word: &str) -> bool {
    word.starts_with(|c: char| c.is_alphabetic() || c == '_')
}

/// The words of a code: names, `::`, and every other mark by itself.
fn words(code: &str) -> Vec<String> {
    let mut words: Vec<String> = Vec::new();
    let mut chars = code.chars().peekable();
    while let Some(c) = chars.next() {
        if c.is_whitespace() {
            continue;
        }
        let mut word = c.to_string();
        if c.is_alphanumeric() || c == '_' {
            while let Some(next) = chars.next_if(|c| c.is_alphanumeric() || *c == '_') {
                word.push(next);
            }
        } else if c == ':' && chars.next_if_eq(&':').is_some() {
            word.push(':');
        }
        words.push(word);
    }
    words
}
