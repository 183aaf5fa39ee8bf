//! Tables that stay readable on a phone.

use leptos::prelude::*;

/// One column.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Column {
    name: String,
    unit: String,
    figures: bool,
}

impl Column {
    /// A column of words.
    pub fn words(name: impl Into<String>) -> Self {
        Self { name: name.into(), ..Self::default() }
    }

    /// A column of figures, aligned under one another; the unit stands in the head, once. Empty: no unit.
    pub fn figures(name: impl Into<String>, unit: impl Into<String>) -> Self {
        Self { name: name.into(), unit: unit.into(), figures: true }
    }

    fn class(&self) -> Option<&'static str> {
        self.figures.then_some("num")
    }
}

/// A cell's words, or an empty cell when nothing is known: a phone leaves its line out.
pub fn known(words: String) -> AnyView {
    if words.is_empty() { ().into_any() } else { words.into_any() }
}

/// A table with a caption. The first cell of a row names it. Where there is no room for columns, each row becomes a small
/// sheet with the column's name before each value.
///
/// Rows must have as many cells as there are columns. Show [`super::Empty`] instead of a table without rows.
#[component]
pub fn DataTable(
    /// What the table shows.
    #[prop(into)]
    caption: String,
    /// The caption is for screen readers only, because a heading above says the same.
    #[prop(optional)]
    caption_hidden: bool,
    /// The columns.
    columns: Vec<Column>,
    /// The rows, cell by cell: `vec!["Slicer".into_any(), view! { <Amount .. /> }.into_any()]`.
    rows: Vec<Vec<AnyView>>,
    /// The last row is a total.
    #[prop(optional)]
    total: bool,
) -> impl IntoView {
    // Roles are written out: where the sheet shows rows as blocks, some browsers forget that this is a table.
    let head: Vec<_> = columns
        .iter()
        .map(|column| {
            let unit = (!column.unit.is_empty())
                .then(|| view! { " " <span class="unit">{column.unit.clone()}</span> });
            view! { <th scope="col" role="columnheader" class=column.class()>{column.name.clone()}{unit}</th> }
        })
        .collect();
    let last = rows.len().saturating_sub(1);
    let body: Vec<_> = rows
        .into_iter()
        .enumerate()
        .map(|(i, cells)| {
            let cells: Vec<_> = cells
                .into_iter()
                .zip(&columns)
                .enumerate()
                .map(|(j, (cell, column))| {
                    let class = column.class();
                    if j == 0 {
                        return view! { <th scope="row" role="rowheader" class=class>{cell}</th> }.into_any();
                    }
                    let name = if column.unit.is_empty() {
                        column.name.clone()
                    } else {
                        format!("{}, {}", column.name, column.unit)
                    };
                    view! {
                        <td role="cell" class=class>
                            <span class="cell-name" aria-hidden="true">{name}</span>
                            <span class="cell">{cell}</span>
                        </td>
                    }
                    .into_any()
                })
                .collect();
            view! { <tr role="row" class=(total && i == last).then_some("total")>{cells}</tr> }
        })
        .collect();
    view! {
        <div class="table-wrap">
            <table class="data" role="table">
                <caption class=caption_hidden.then_some("hidden")>{caption}</caption>
                <thead role="rowgroup"><tr role="row">{head}</tr></thead>
                <tbody role="rowgroup">{body}</tbody>
            </table>
        </div>
    }
    .into_any()
}
