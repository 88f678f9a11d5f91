//! What follows when several orders are given together.

mod meets;
mod sought;
mod sums;

use std::sync::Arc;

use gutta_notation::ast::Name;
use gutta_notation::{Span, StanzaKind};

pub use meets::{Meeting, Objection, Word};
pub use sought::{Over, Sum};
pub use sums::{MemberValues, Segment, SumUnknown};

use crate::model::lower::Lowering;
use crate::model::order::{Named, Order};
use crate::model::reference::Area;
use crate::model::resolve::Resolver;
use crate::model::set::{Load, LoadOf, Set, fluid_unit};
use crate::model::size::Extent;
use crate::model::{self, Library};
use crate::{StanzaId, Workspace};

/// A set with its orders, each as it would be given alone.
#[derive(Clone, Debug)]
pub struct Together {
    /// What the set says.
    pub set: Arc<Set>,
    /// Its area, where it names one that is known.
    pub area: Option<Named<Area>>,
    /// Its orders, in the order written.
    pub members: Vec<Member>,
    /// Names that it includes and that mean no order, or several.
    pub unknown: Vec<Name>,
}

/// An order of a set.
#[derive(Clone, Debug)]
pub struct Member {
    /// Where the set includes it.
    pub name: Name,
    /// The order.
    pub order: Order,
}

/// A bound on what a set brings, and whose it is.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct SetBound {
    /// The bound.
    pub load: Load,
    /// The area that states it; `None`: the set itself.
    pub area: Option<StanzaId>,
}

impl Together {
    /// A set and its orders; `None` where the stanza is no set.
    #[must_use]
    pub fn of(workspace: &Workspace, library: &Library, id: StanzaId) -> Option<Self> {
        let set = Arc::clone(library.set(id)?);
        let resolver = Resolver {
            workspace,
            library,
            file: id.file,
        };
        // What stands in the way of an area's meaning is told of the area.
        let mut lowering = Lowering::default();
        let area = match (&set.area, &workspace.house.area) {
            (Some(name), _) => resolver.named::<Area>(&mut lowering, name),
            (None, Some(name)) => {
                resolver.named_elsewhere(&mut lowering, id.file, name, Span::default())
            }
            (None, None) => None,
        };
        let (mut members, mut unknown) = (Vec::new(), Vec::new());
        for name in &set.include {
            match workspace
                .resolve(id.file, StanzaKind::Order, &name.value)
                .one()
            {
                Some(order) => members.push(Member {
                    name: name.clone(),
                    order: model::order(workspace, library, order),
                }),
                None => unknown.push(name.clone()),
            }
        }
        Some(Self {
            set,
            area,
            members,
            unknown,
        })
    }

    /// The set's body weights in kg: a missing end is the area's.
    #[must_use]
    pub fn weight(&self) -> Option<Extent> {
        self.filled(&self.set.weight, |area| &area.weight)
    }

    /// The set's body surfaces in m2, likewise.
    #[must_use]
    pub fn surface(&self) -> Option<Extent> {
        self.filled(&self.set.surface, |area| &area.surface)
    }

    /// The set's ages in base units of time, likewise.
    #[must_use]
    pub fn age(&self) -> Option<Extent> {
        self.filled(&self.set.age, |area| &area.age)
    }

    fn filled(
        &self,
        own: &Option<Extent>,
        of_area: fn(&Area) -> &Option<Extent>,
    ) -> Option<Extent> {
        let area = self
            .area
            .as_ref()
            .and_then(|area| of_area(&area.value).as_ref());
        let Some(mut own) = own.clone() else {
            return area.cloned();
        };
        if let Some(area) = area {
            own.fill(area);
        }
        Some(own)
    }

    /// The bounds in force: the set's own, and the area's on fluid where the
    /// set says nothing of it.
    #[must_use]
    pub fn bounds(&self) -> Vec<SetBound> {
        let own = self.set.loads.iter().map(|load| SetBound {
            load: load.clone(),
            area: None,
        });
        let mut bounds: Vec<_> = own.collect();
        let says_fluid = bounds.iter().any(|bound| bound.load.of == LoadOf::Fluid);
        let of_area = self.area.as_ref().filter(|_| !says_fluid);
        if let Some((area, (extent, form))) =
            of_area.and_then(|area| Some((area, area.value.fluid.as_ref()?)))
        {
            bounds.push(SetBound {
                load: Load {
                    of: LoadOf::Fluid,
                    extent: extent.clone(),
                    form: *form,
                    unit: fluid_unit(*form),
                    span: extent.span,
                },
                area: Some(area.id),
            });
        }
        bounds
    }

    /// The member that a line of the set names.
    #[must_use]
    pub fn member(&self, name: &str) -> Option<&Member> {
        self.members.iter().find(|member| member.name.value == name)
    }
}
