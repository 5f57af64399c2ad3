//! What the help of the stock verbs says beyond a line for each option.

pub(crate) const STOCK: &str = "\
Keeps the stock log: what lies in the rack.

Every piece has a tag of a few letters, to be chalked on it. Whatever happens to it is written down with its time; nothing is \
ever rubbed out, and the last event can be taken back. Material cost follows the metal: a leftover carries its share of what \
was paid.";

pub(crate) const STOCK_AFTER: &str = "\
Examples:
  A drop from the yard:
      dropwise stock add --material 'mild steel' --thickness '11 ga' \\
          --rectangle '780 x 520' --price 9.50 --place 'rack B'
  What lies in the rack:
      dropwise stock list
  Nest a job on it, and write down that it was cut:
      dropwise nest brackets.toml --from-stock --out plan
      dropwise cut plan/plan.json";

pub(crate) const ADD: &str = "\
Writes down a piece that came into the shop, and gives it a tag.

Without any options it asks step by step.";

pub(crate) const ADD_AFTER: &str = "\
Examples:
  A rectangle:
      dropwise stock add --material 'mild steel' --thickness '11 ga' \\
          --rectangle '30 in x 20 1/4 in' --price '0.42 per lb'
  An odd drop, measured with a tape:
      dropwise stock add --material 5052 --thickness '3 mm' \\
          --tape '820, 410, 790, 505' --diagonal '1-3 = 915' \\
          --diagonal '2-4 = 945' --damage '60 at 120, 80'
  From a drawing, with its papers:
      dropwise stock add --material 304 --thickness '16 ga' \\
          --drawing drop.dxf --heat H-40417 --certificate 'folder 3'";

pub(crate) const LIST_AFTER: &str = "\
Examples:
  dropwise stock list --material 'mild steel' --size '400 x 300'
  dropwise stock list --older-than 365 --sort age
  dropwise stock list --json";

pub(crate) const SHOW_AFTER: &str = "Examples:\n  dropwise stock show 7CDP\n  dropwise stock show 7CDP --out drop.svg";

pub(crate) const FIND: &str = "\
Finds the pieces in the rack that hold a part, the smallest first.

The part is an outline, of any metal, or a part of a job file, of its metal alone. A piece is named only when a way was found \
to lay the part on it, clear of holes and damage. Of the others it is told what they lack; where no way was found, a longer \
search with `dropwise nest` may still find one. When no piece holds it, the exit code is 3.";

pub(crate) const FIND_AFTER: &str = "\
Examples:
  dropwise stock find --rectangle '420 x 260' --material 'mild steel'
  dropwise stock find --drawing bracket.dxf --thickness '11 ga' --margin 5
  dropwise stock find --job brackets.toml --part foot";

pub(crate) const VALUE_AFTER: &str = "Examples:\n  dropwise stock value\n  dropwise stock value --out value.svg";

pub(crate) const REPORT: &str = "\
Tells how the metal was used, month by month.

What was bought and cut, how much of it became parts, how much of it came from remnants instead of new sheets; where the money \
is that was paid; and what has lain untouched for a year.";

pub(crate) const REPORT_AFTER: &str = "\
Examples:
  dropwise stock report
  dropwise stock report --json
  dropwise stock report --out use.svg";

pub(crate) const LABELS: &str = "\
Makes labels to print, one for each piece.

Each bears the tag, metal, size, heat number and place, and the tag as QR code. Twelve are on a page; thin lines show where to \
cut.";

pub(crate) const LABELS_AFTER: &str = "\
Examples:
  dropwise stock labels --out labels.pdf
  dropwise stock labels 7CDP 3AHK --paper letter --out labels.pdf
  dropwise stock labels --newer-than 7 --out labels.pdf";

pub(crate) const MOVE_AFTER: &str = "Example:\n  dropwise stock move 7CDP 'rack B, second shelf'";

pub(crate) const MEASURE: &str = "\
Writes down what was found when a piece was measured.

What it carries of the money stays. A new outline replaces the old one with its holes and damage.";

pub(crate) const MEASURE_AFTER: &str = "\
Examples:
  dropwise stock measure 7CDP --rectangle '412 x 300'
  dropwise stock measure 7CDP --measured 3.02";

pub(crate) const SCRAP_AFTER: &str = "Example:\n  dropwise stock scrap 7CDP --proceeds 1.20 --cause rusted";

pub(crate) const HISTORY_AFTER: &str = "Example:\n  dropwise stock history 7CDP";

pub(crate) const UNDO: &str = "\
Takes back the last event, or another.

The pieces are then as they were before; both events stay in the history. An event on which later ones depend is refused, and \
these are named.";

pub(crate) const UNDO_AFTER: &str = "Examples:\n  dropwise stock undo\n  dropwise stock undo 17 --cause 'wrong drop'";

pub(crate) const VERIFY: &str = "\
Tells whether the log is sound: the file, every event, and that pieces and money are what the events make of them.

What is damaged besides the events can be made anew from them with --mend. No event is ever changed or taken out.";

pub(crate) const VERIFY_AFTER: &str = "Examples:\n  dropwise stock verify\n  dropwise stock verify --mend";

pub(crate) const CUT: &str = "\
Records in the stock log that a plan was cut.

The sheets it cuts are used up; what it leaves over is added with outlines, tags and a share of what was paid; the rest is \
weighed as scrap. All of it is recorded or nothing. The plan is proved first, as `draw` does; it is refused if anything in it \
was changed by hand, or a sheet was changed or used since it was made.

Sheets that the plan does not have from the log, such as those that `buy` chose, are recorded as bought and cut with --bought, \
or, if they were added to the log meanwhile, named with --sheet.";

pub(crate) const CUT_AFTER: &str = "\
Examples:
  dropwise nest brackets.toml --from-stock --out plan
  dropwise cut plan/plan.json
  dropwise stock undo

  Sheets that were bought for the plan:
  dropwise buy brackets.toml --offers yard.csv --from-stock --out plan
  dropwise cut plan/plan.json --bought

  A sheet that was added to the log after the plan was made, its tag 7CDP:
  dropwise cut plan/plan.json --sheet 'drop 7=7CDP'";

pub(crate) const IMPORT: &str = "\
Reads pieces from a list, or a whole log.

A list is CSV, as `export` writes it or as a spreadsheet does: columns such as name, material, thickness, length, width, price, \
location. A whole log is JSON, and goes into an empty log only. Every line that is rejected is named; then nothing is written. A list may \
be 16 MB, a log 256 MB.";

pub(crate) const IMPORT_AFTER: &str = "\
Examples:
  dropwise stock import rack.csv --dry-run
  dropwise stock import rack.csv --cause 'found in the rack'";

pub(crate) const EXPORT_AFTER: &str = "\
Examples:
  dropwise stock export > rack.csv
  dropwise stock export json > stock-log.json";
