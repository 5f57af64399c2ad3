//! What the help of `photo` says.

pub(crate) const LONG_ABOUT: &str = "\
Reads outlines from photographs taken beside a printed scale sheet.

Print the sheet once (`dropwise photo scale-sheet`), lay it flat beside a cardboard template, an old part or a drop, \
photograph both from about straight above, and `dropwise photo outline` makes a drawing in true size, holes included. \
`dropwise photo stock` writes a drop into the stock log. What was read, and how accurate it is, is shown before anything is stored.

A template from a photograph is checked with a rule before anything is cut by it.";

pub(crate) const AFTER: &str = "\
Examples:
  The sheet to print, at 100 %:
      dropwise photo scale-sheet --out scale-sheet.pdf
  A cardboard template, 3 mm thick:
      dropwise photo outline template.jpg --thickness 3 --square 119.6 --out template
  A drop on the floor of the yard, into the log:
      dropwise photo stock drop.jpg --square 119.6 --material 'mild steel' --thickness '11 ga'";

pub(crate) const SHEET: &str = "\
Makes the scale sheet to print.

Squares of 10 mm all around, two QR codes that tell which way up it lies, and a ruled square of 120 mm. Print it at 100 % \
on stiff paper, and measure the ruled square: printers are off by up to a hundredth, and --square of the other verbs takes \
what you measured.

With --pages, several pages with numbers of their own: laid around a large thing, all of them in the picture, they make its far \
end more accurate. They need not be taped together; where each lies is found.";

pub(crate) const SHEET_AFTER: &str = "\
Examples:
  For the printer with A4:
      dropwise photo scale-sheet --out scale-sheet.pdf
  Four pages to lie around a large sheet, on Letter:
      dropwise photo scale-sheet --paper letter --pages 4 --out scale-sheets.pdf";

pub(crate) const OUTLINE: &str = "\
Reads the outline of a thing from photographs, with the holes in it.

Give the thickness: the upper face lies above the sheet, nearer to the camera, and would come out too large. Several \
photographs of the same thing and sheet, neither moved in between, are fitted together.

Straight sides are made straight, square corners square and round holes round where that lies within the accuracy; each such \
decision is listed by name, and --as-found takes it back. The report tells how accurate the outline is by the fit itself: the \
camera, the lens, the edges and the print. Check a template with a rule before cutting.";

pub(crate) const OUTLINE_AFTER: &str = "\
Examples:
  A drawing, a picture and lines for the job file, into a folder:
      dropwise photo outline template.jpg --thickness 3 --square 119.6 --out template
  Side 4 was torn by hand, and the corners are not square:
      dropwise photo outline template.jpg --thickness 3 --as-found 'side 4' --as-found square
  Side 2 was measured with a rule:
      dropwise photo outline plate.jpg --thickness 6 --known 'side 2 = 412.5'
  The thing stands out badly: pixel 1800,900 is on it, 300,300 is not:
      dropwise photo outline plate.jpg --thickness 6 --inside 1800,900 --outside 300,300
  For a script:
      dropwise photo outline plate.jpg --thickness 6 --json | jq .accuracy

With --out, the folder gets outline.dxf and outline.svg (true size), picture.svg (the photograph laid flat with outline, sizes and \
a strip of colours where it is unsure) and job-lines.toml.";

pub(crate) const STOCK: &str = "\
Reads a drop from photographs and writes it into the stock log, with the path of the photograph.

What was read is shown first, and asked for; --yes answers beforehand. Marks of chalk or tape of a colour named with --damage \
become damage to stay out of.";

pub(crate) const STOCK_AFTER: &str = "\
Examples:
  A drop with rust circled in yellow chalk:
      dropwise photo stock drop.jpg --square 119.6 --material 'mild steel' --thickness '11 ga' --damage yellow
  Without being asked, for a script:
      dropwise photo stock drop.jpg --material 'mild steel' --thickness '3 mm' --price 12 --yes";
