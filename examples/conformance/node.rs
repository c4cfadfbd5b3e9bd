//! A place in the JSON file that knows its own path, so that every complaint says where it arose.

use num_complex::Complex64;
use serde_json::Value;

/// Why a case could not be carried through: a malformed file, or an answer the library refused to give.
pub(crate) type Problem = Box<dyn core::error::Error>;

/// A value of the file together with the path that leads to it.
#[derive(Debug, Clone)]
pub(crate) struct Node<'a> {
    path: String,
    value: &'a Value,
}

/// An amount and an angle as the file prints them, in the case's own sense.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Polar {
    pub(crate) amount: f64,
    pub(crate) degrees: f64,
}

impl Polar {
    /// The printed pair as a vector: a difference of two such vectors means something even where an angle does not.
    pub(crate) fn vector(self) -> Complex64 {
        let (sine, cosine) = self.degrees.to_radians().sin_cos();
        Complex64::new(self.amount * cosine, self.amount * sine)
    }
}

impl core::fmt::Display for Polar {
    fn fmt(&self, f: &mut core::fmt::Formatter<'_>) -> core::fmt::Result {
        write!(f, "{:?} at {:?} deg", self.amount, self.degrees)
    }
}

impl<'a> Node<'a> {
    pub(crate) fn root(name: &str, value: &'a Value) -> Self {
        Self { path: name.to_owned(), value }
    }

    pub(crate) fn path(&self) -> &str {
        &self.path
    }

    pub(crate) fn is_null(&self) -> bool {
        self.value.is_null()
    }

    /// The member of that name, present or not; `null` counts as present.
    pub(crate) fn find(&self, key: &str) -> Option<Self> {
        self.value.get(key).map(|value| Self { path: format!("{}.{key}", self.path), value })
    }

    /// The member of that name, unless it is missing or `null`.
    pub(crate) fn given(&self, key: &str) -> Option<Self> {
        self.find(key).filter(|node| !node.is_null())
    }

    pub(crate) fn get(&self, key: &str) -> Result<Self, Problem> {
        self.find(key).ok_or_else(|| format!("{} has no member {key}", self.path).into())
    }

    pub(crate) fn items(&self) -> Result<Vec<Self>, Problem> {
        let items = self.value.as_array().ok_or_else(|| self.not("a list"))?.iter().enumerate();
        Ok(items.map(|(at, value)| Self { path: format!("{}[{at}]", self.path), value }).collect())
    }

    /// The members of an object, in the order of the file.
    pub(crate) fn members(&self) -> Result<Vec<(&'a str, Self)>, Problem> {
        let members = self.value.as_object().ok_or_else(|| self.not("an object"))?.iter();
        Ok(members
            .map(|(key, value)| (key.as_str(), Self { path: format!("{}.{key}", self.path), value }))
            .collect())
    }

    pub(crate) fn number(&self) -> Result<f64, Problem> {
        self.value.as_f64().ok_or_else(|| self.not("a number"))
    }

    pub(crate) fn index(&self) -> Result<usize, Problem> {
        let index = self.value.as_u64().and_then(|index| usize::try_from(index).ok());
        index.ok_or_else(|| self.not("a count or index"))
    }

    pub(crate) fn flag(&self) -> Result<bool, Problem> {
        self.value.as_bool().ok_or_else(|| self.not("true or false"))
    }

    pub(crate) fn text(&self) -> Result<&'a str, Problem> {
        self.value.as_str().ok_or_else(|| self.not("a text"))
    }

    /// `{"re", "im"}`, canonical.
    pub(crate) fn complex(&self) -> Result<Complex64, Problem> {
        Ok(Complex64::new(self.get("re")?.number()?, self.get("im")?.number()?))
    }

    /// An amount and an angle under the names given, such as `mass_g` and `deg`.
    pub(crate) fn polar(&self, amount: &str, degrees: &str) -> Result<Polar, Problem> {
        Ok(Polar { amount: self.get(amount)?.number()?, degrees: self.get(degrees)?.number()? })
    }

    pub(crate) fn numbers(&self) -> Result<Vec<f64>, Problem> {
        self.items()?.iter().map(Self::number).collect()
    }

    pub(crate) fn indices(&self) -> Result<Vec<usize>, Problem> {
        self.items()?.iter().map(Self::index).collect()
    }

    /// The paths of everything below that is not itself a filled list or object.
    pub(crate) fn leaves(&self, into: &mut Vec<String>) {
        let children = match self.value {
            Value::Object(_) => {
                self.members().unwrap_or_default().into_iter().map(|(_, node)| node).collect()
            }
            Value::Array(_) => self.items().unwrap_or_default(),
            _ => Vec::new(),
        };
        if children.is_empty() {
            into.push(self.path.clone());
        }
        for child in children {
            child.leaves(into);
        }
    }

    fn not(&self, wanted: &str) -> Problem {
        let mut text = self.value.to_string();
        if let Some((end, _)) = text.char_indices().nth(60) {
            text.truncate(end);
            text.push('…');
        }
        format!("{} is not {wanted}: {text}", self.path).into()
    }
}
