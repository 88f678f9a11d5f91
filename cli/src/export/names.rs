//! Names of resources that stay the same from one export to the next.

use uuid::{Uuid, uuid};

/// Whose names these are: any fixed UUID would do.
const NAMESPACE: Uuid = uuid!("6f0c1a52-8e0f-4d0a-9d54-2b8a7c1e5f36");

/// What the resources of an export are called.
#[derive(Debug)]
pub(crate) struct Names<'a> {
    /// The house's address, under which they are to stand; `None`: their UUIDs
    /// are all.
    pub(crate) base_url: Option<&'a str>,
}

/// What one resource is called.
#[derive(Clone, Debug)]
pub(crate) struct Name {
    /// Its id: a UUID made from what it stands for (version 5, RFC 9562).
    pub(crate) id: String,
    /// Its full URL in the bundle; for a definition its canonical URL too.
    pub(crate) url: String,
}

impl Names<'_> {
    /// The name of a resource. `parts`: the file, the kind of stanza, its name
    /// and what of it.
    pub(crate) fn of(&self, resource: &str, parts: &[&str]) -> Name {
        // No name holds a line end.
        let id = Uuid::new_v5(&NAMESPACE, parts.join("\n").as_bytes()).to_string();
        let url = match self.base_url {
            Some(base) => format!("{base}/{resource}/{id}"),
            None => format!("urn:uuid:{id}"),
        };
        Name { id, url }
    }
}

/// The name that programs know a definition by: `NoradrenalineCentral`. The
/// standard asks for a capital, then ASCII letters, digits and `_`, at most
/// 255; `None` where the name is another.
pub(crate) fn computable(name: &str) -> Option<String> {
    let parts = name.split('-').map(|part| {
        let mut letters = part.chars();
        let first = letters.next().map(|first| first.to_ascii_uppercase());
        first.into_iter().chain(letters).collect::<String>()
    });
    let joined = parts.collect::<String>();
    let fits = joined.len() <= 255
        && joined.starts_with(|first: char| first.is_ascii_uppercase())
        && joined.bytes().all(|byte| byte.is_ascii_alphanumeric());
    fits.then_some(joined)
}

/// A base URL from the command line.
pub(crate) fn base_url(text: &str) -> Result<String, String> {
    let wrong = || "a base URL is written https://fhir.example.org".to_owned();
    let url = url::Url::parse(text).map_err(|_| wrong())?;
    let plain = matches!(url.scheme(), "http" | "https")
        && url.has_host()
        && url.query().is_none()
        && url.fragment().is_none()
        // It ends one version from the other in a canonical URL.
        && !text.contains('|');
    let base = url.as_str().trim_end_matches('/').to_owned();
    plain.then_some(base).ok_or_else(wrong)
}

#[cfg(test)]
mod tests {
    use super::{Names, base_url, computable};

    #[test]
    fn a_name_stays() {
        let names = Names { base_url: None };
        let of = |parts: &[&str]| names.of("ActivityDefinition", parts).url;
        let url = of(&["a.gtt", "order", "b"]);
        assert_eq!(url, of(&["a.gtt", "order", "b"]));
        assert_ne!(url, of(&["a.gtt", "order", "b", "second"]));
        assert_ne!(url, of(&["b.gtt", "order", "b"]));
        // RFC 9562: version 5, variant 10.
        let id = url.strip_prefix("urn:uuid:").unwrap();
        assert_eq!((id.len(), &id[14..15]), (36, "5"));
    }

    #[test]
    fn programs_know_a_definition_by_name() {
        assert_eq!(computable("noradrenaline-16").unwrap(), "Noradrenaline16");
        assert_eq!(computable("5-fu"), None);
        assert_eq!(computable("naïve"), None);
    }

    #[test]
    fn a_base_url_is_one() {
        assert_eq!(
            base_url("https://a.example/fhir/").unwrap(),
            "https://a.example/fhir"
        );
        for wrong in [
            "a.example",
            "ftp://a.example",
            "https://a.example/?b",
            "https://a|b",
            "https://a.example/#b",
        ] {
            assert!(base_url(wrong).is_err(), "{wrong}");
        }
    }
}
