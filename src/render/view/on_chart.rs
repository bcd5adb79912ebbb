//! Where a session is on the plan that it walks along, quietly.

use super::super::Role;
use super::super::page::Page;
use crate::session::prompt::OnChart;

/// The number to look for on paper, or that the plan was left. `before` is what was said of it last.
pub fn on_chart(page: &mut Page, now: OnChart, before: Option<OnChart>) {
    let text = match (now, before) {
        (OnChart::At(number), Some(OnChart::Left)) => format!("(back on the chart, at {number})"),
        (OnChart::At(number), _) => format!("(on the chart: {number})"),
        (OnChart::Left, Some(OnChart::At(_))) => "(off the chart; planned anew from here)".to_owned(),
        (OnChart::Left, _) => "(not on the chart; planned as ever)".to_owned(),
    };
    page.said(Role::Aside, &text);
}
