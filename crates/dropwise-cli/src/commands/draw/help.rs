//! What the help says of `draw`.

use crate::help::exit_codes;

pub(crate) const ABOUT: &str = "Draws a plan: report, cut sheets, templates, tables, DXF";

pub(crate) const LONG_ABOUT: &str = "\
Draws a plan: report, cut sheets, templates, tables, DXF.

Everything is made of the plan alone, which is proved again first: a plan that was changed by hand and no longer holds is \
refused, with the place.

Outlines in DXF and SVG are the true edges of the parts; the machine, or the program that feeds it, must offset for the kerf. \
Templates must be printed at 100 %, without fitting them to the page; measure the ruled square before you trust them.";

const EXAMPLES: &str = "\
Examples:
  Everything, beside the plan:
      dropwise draw brackets-plan
  Files for the cutting table only, somewhere else:
      dropwise draw brackets-plan/plan.json --kind dxf --out /media/usb
  One part at full size on Letter paper:
      dropwise draw brackets-plan --part \"post foot\" --paper letter
  The same on a printer whose 100 mm square came out 99.2 by 100.1:
      dropwise draw brackets-plan --part \"post foot\" --square 99.2x100.1
  A whole sheet from a plotter's roll, and tables to the nearest 1/64 in:
      dropwise draw brackets-plan --sheet 2 --paper roll:36in
      dropwise draw brackets-plan --kind markout --nearest 1/64";

pub(crate) fn after_long_help() -> String {
    format!("{EXAMPLES}\n\n{}", exit_codes())
}
