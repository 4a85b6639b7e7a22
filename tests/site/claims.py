"""What the texts claim about the route: a size that moves, a result that follows, and the way it goes.

Each line of a file's table quotes the text, then names the number that is moved, the result, and the sign of the
result's change when the number grows. `[-1]` is the last ring. A result is

    ironed[-1].thin             a result of the route
    a - b                       the difference of two of them
    margin trim.allowance       how far a check is inside its limit
    value ring.check@ring 3     what a check measures, of those that its words pick
"""

from __future__ import annotations

from typing import NamedTuple


class Claim(NamedTuple):
    """A statement of a text, and how the route is asked about it."""

    file: str
    quote: str
    moved: str
    result: str
    sign: int


_TABLE = """
site/docs/learn/changeover-sheet.md
  The strip must move on by one blank and one web | format.blank.web | blank.pitch | +
site/docs/learn/dome-and-pressure.md
  Warm drink holds less of it, so the gas goes into the {{ term headspace }} and the pressure rises. | plant.warmest | filled.warmest_pressure | +
  Thickness counts more than in proportion: | format.stock.gauge | strength.reversal | +
  a few percent of gauge cost more than a few percent of strength. | stock.yield_after_bake | strength.reversal | +
  Out of the drink into the headspace, where it raises the pressure. | format.fill.carbonation | filled.warmest_pressure | +
site/docs/learn/ears-and-trim.md
  It is thin coil, a small punch and high ears on the same day. | format.stock.gauge | trimmed.allowance | +
  It is thin coil, a small punch and high ears on the same day. | format.punch.wall_diameter | trimmed.allowance | +
  It is thin coil, a small punch and high ears on the same day. | format.stock.earing | trimmed.allowance | -
  a smaller punch makes a thicker wall, so the can is shorter. | format.punch.wall_diameter | ironed[-1].thin | -
  a smaller punch makes a thicker wall, so the can is shorter. | format.punch.wall_diameter | domed.height | +
  Ironing makes the wall longer, and the waves grow with it. | format.ironing.rings[-1].bore | domed.height | -
  Ironing makes the wall longer, and the waves grow with it. | format.ironing.rings[-1].bore | domed.ear | -
  it is the first thing to look at when somebody proposes a thinner coil. | format.stock.gauge | trimmed.allowance | +
  Why may you not lower the trim height to rescue short cans? | format.trim.height | flanged.height | +
  The small punch makes a thick wall, which takes the metal from the height. | format.punch.wall_diameter | ironed[-1].thin | -
site/docs/learn/necking.md
  Dry dies or a large bite push harder, | setting.neck-friction | necked[0].stress | +
  Dry dies or a large bite push harder, | format.neck.stages | necked[0].stress | -
  and then the body buckles before the neck is formed. | format.ironing.rings[-1].bore | necked[-1].buckling_share | -
  Asked for more, it makes a {{ term pleat }}. | format.neck.stages | margin neck.stage-reduction | +
site/docs/learn/safe-change.md
  it was the trim that got lighter, down to where the knife finds nothing. | format.stock.gauge | trimmed.trim_mass | +
  it was the trim that got lighter, down to where the knife finds nothing. | format.stock.gauge | trimmed.allowance | +
  The body hardly got lighter; | format.stock.gauge | flanged.mass | +
  Then much of the saving goes into the larger blank. | format.blank.diameter | blank.mass | +
site/docs/learn/the-gap.md
  The gap is half of what the ring's bore is larger than the punch. | format.ironing.rings[-1].bore | ironed[-1].gap | +
  The gap is half of what the ring's bore is larger than the punch. | format.punch.wall_diameter | ironed[-1].gap | -
  leaves a wider gap with the same ring, and so a {{ term thick-wall }} for neck and flange. | format.punch.neck_diameter | ironed[-1].thick | -
  Under load the ring opens by a few microns, and warm tools have other sizes than cold ones. | setting.ring-pressure-share | ironed[-1].growth | +
  The wall therefore comes out slightly thicker than the cold gap. | setting.ring-pressure-share | ironed[-1].thin | +
  A ring wears open by four microns on its diameter. How much thicker is the wall? | format.ironing.rings[-1].bore | ironed[-1].thin | +
  Why does the step make the wall thicker although the ring is the same? | format.punch.neck_diameter | ironed[-1].thick - ironed[-1].thin | -
  The punch is smaller there, so the gap is wider. | format.punch.neck_diameter | ironed[-1].thick | -
site/docs/learn/the-seam.md
  A narrow flange makes a short body hook. | format.flange.width | seam.hook_from_flange | +
  A thick wall at the edge makes a thick seam. | format.punch.neck_diameter | seam.thickness_target | -
site/docs/learn/where-the-metal-goes.md
  by ironing the wall thinner, and by buying a thinner coil. | format.ironing.rings[-1].bore | flanged.mass | +
  A thinner wall makes a longer wall, and more is cut off at the trimmer unless the blank gets smaller. | format.ironing.rings[-1].bore | domed.height | -
  A thinner wall makes a longer wall, and more is cut off at the trimmer unless the blank gets smaller. | format.ironing.rings[-1].bore | trimmed.trim_mass | -
  A thinner wall makes a longer wall, and more is cut off at the trimmer unless the blank gets smaller. | format.blank.diameter | trimmed.trim_mass | +
  A thinner coil makes a shorter can, and the {{ term trim-allowance }} shrinks unless the blank gets bigger. | format.stock.gauge | domed.height | +
  A thinner coil makes a shorter can, and the {{ term trim-allowance }} shrinks unless the blank gets bigger. | format.stock.gauge | trimmed.allowance | +
  A thinner coil makes a shorter can, and the {{ term trim-allowance }} shrinks unless the blank gets bigger. | format.blank.diameter | trimmed.allowance | +
  The wall is ironed thinner and nothing else changes. | format.ironing.rings[-1].bore | domed.height | -
  It grows. | format.ironing.rings[-1].bore | domed.height | -
  The coil gets thinner and nothing else changes. | format.stock.gauge | trimmed.allowance | +
  It shrinks. | format.stock.gauge | trimmed.allowance | +
site/docs/learn/why-we-check.md
  thin coil means a low wall | format.stock.gauge | domed.height | +
  the leaving wall pulls the rest through the ring | format.ironing.rings[-1].bore | ironed[-1].stress_share | -
site/docs/learn/ten-faults.md
  Friction there goes up and the pull with it, | setting.die-friction | ironed[-1].exit_stress | +
  and why a larger ring is not: | format.ironing.rings[-1].bore | ironed[-1].thin | +
  Why is a larger ring no cure for tear-offs? | format.ironing.rings[-1].bore | trimmed.allowance | -
site/faults.yaml
  The coil's texture, from the mill's rolling and annealing. | format.stock.earing | cup.ear | +
  Do not lower the trim height on your own to hide valleys; | format.trim.height | trimmed.allowance | -
  the can comes out short. | format.trim.height | flanged.height | +
  Cups too tall or too short for tracks and infeed after a change of format. | format.blank.diameter | cup.height | +
  Cups too tall or too short for tracks and infeed after a change of format. | format.cup.punch_diameter | cup.height | -
  Do not open a ring or fit a larger one to stop tears before the pattern is known; | format.ironing.rings[-1].bore | ironed[-1].thin | +
  Do not open a ring or fit a larger one to stop tears before the pattern is known; | format.ironing.rings[-1].bore | trimmed.allowance | -
  One ring takes too much, because rings are mixed, exchanged or ground to another size. | format.ironing.rings[-1].bore | ironed[-1].reduction | -
  Two rings work on the wall at once and add their pull. | format.ironing.rings[-1].distance | ironed[-1].engaged_from - ironed[-2].engaged_to | +
  The last ring has worn open or was ground past its window. | format.ironing.rings[-1].bore | ironed[-1].thin | +
  Do not fit a larger ring to lift the thin side over its limit; | format.ironing.rings[-1].bore | flanged.mass | +
  the thick side and the mass go up too. | format.ironing.rings[-1].bore | ironed[-1].thick | +
  The last ring is off, and thin and thick wall move together. | format.ironing.rings[-1].bore | ironed[-1].thick | +
  The last ring is off, and thin and thick wall move together. | format.ironing.rings[-1].bore | ironed[-1].thin | +
  Another punch than meant, or one ground above the step. | format.punch.neck_diameter | ironed[-1].thick | -
  The ring before the last leaves less wall than the last ring's gap above the step. | format.ironing.rings[-2].bore | ironed[-1].spare | +
  The wall is thick, so the metal is in the wall and not in the height. | format.ironing.rings[-1].bore | trimmed.allowance | -
  The coil is at its thin limit. | format.stock.gauge | trimmed.allowance | +
  The ears are higher than reckoned with. | format.stock.earing | trimmed.allowance | -
  The blank is too small for this can. | format.blank.diameter | trimmed.allowance | +
  Do not lower the trim height to get a full cut; | format.trim.height | trimmed.allowance | -
  finished height, seam and filling move with it. | format.trim.height | filled.sealed | +
  The dome is deeper than set, through too much over-travel. | format.dome.depth | domed.stretch | +
  The base is held so hard that it stretches instead of drawing in. | setting.dome-draw-in | domed.thinning | -
  cracks begin at the corner, and volume changes. | format.dome.depth | filled.brimful | -
  The gauge is low for this base. | format.stock.gauge | strength.reversal | +
  The metal is softer after the ovens than reckoned, by coil or by too hot or long a bake. | stock.yield_after_bake | strength.reversal | +
  The stand is wide, or its radii are not as drawn. | format.dome.stand_diameter | strength.reversal | -
  More pressure inside than the can was made for. | format.fill.carbonation | filled.warmest_pressure | +
  The loop is wide, because far more metal is trimmed than needed. | format.blank.diameter | trimmed.peak_allowance | +
  The loop is wide, because far more metal is trimmed than needed. | format.trim.height | trimmed.peak_allowance | -
  The loop breaks in the ear valleys, because there is too little. | format.stock.earing | trimmed.allowance | -
  The thick wall is thin, or the neck reaches into thin wall. | format.ironing.rings[-1].bore | ironed[-1].thick | +
  The thick wall is thin, or the neck reaches into thin wall. | format.punch.step_height | value punch.step-below-shoulder | -
  One stage takes too large a share. | format.neck.stages | necked[0].reduction | -
  One stage takes more than its share. | format.neck.stages | necked[0].reduction | -
  The thin wall is below its target. | format.ironing.rings[-1].bore | strength.axial_empty | +
  A stage pushes hard, through its share, or through a dry or rough die. | setting.neck-friction | necked[0].force | +
  Trim height off. | format.trim.height | flanged.height | +
  The flange is wide, so its edge is stretched far. | format.flange.width | flanged.edge_strain | +
  The flange is wide, so its edge is stretched far. | format.neck.plug_diameter | flanged.edge_strain | -
  The flange is narrow. | format.flange.width | seam.hook_from_flange | +
  Both hooks at the low end of their limits while the seam is long. | format.seam.body_hook | seam.overlap | +
  Both hooks at the low end of their limits while the seam is long. | format.seam.end_hook | seam.overlap | +
  Both hooks at the low end of their limits while the seam is long. | format.seam.length | seam.overlap | -
  The flange edge is thinner than the rolls were set for. | format.punch.neck_diameter | seam.free_space | +
  The thickness asked for leaves no room for compound. | format.seam.thickness | seam.free_space | +
  A countersink too shallow to back the seam. | end.countersink | seam.countersink_room | +
  The flange is too wide for the opening of the curl. | format.flange.width | flanged.curl_clearance | -
  The flange is too wide for the opening of the curl. | end.curl_opening | flanged.curl_clearance | +
  The end drops on a flange wider than its opening. | format.flange.width | flanged.curl_clearance | -
  Coil gauge toward one end of its tolerance. | format.stock.gauge | flanged.mass | +
  A wall that is off while the height is right. | format.ironing.rings[-1].bore | flanged.mass | +
  More gas in the drink than the format was made for. | format.fill.carbonation | filled.warmest_pressure | +
  Too little headspace, so warm liquid has nowhere to go. | format.fill.contents | filled.warmest_pressure | +
  Warmer than the plant's warmest. | plant.warmest | filled.warmest_pressure | +
  The dome or the wall is weaker than asked. | format.stock.gauge | strength.reversal | +
site/glossary.yaml
  The larger it is, the harder the wall has to pull. | format.blank.diameter | cup.drawing_force | +
  Half of what the draw die is wider than its punch. | format.cup.die_bore | cup.clearance | +
  It must pass the rim, which has grown thicker, and little more. | setting.cup-rim-thickening | cup.rim | +
  Above it more room is left, so more metal stays. | format.punch.neck_diameter | ironed[-1].thick | -
  Making a wall thinner and longer by pushing it on a punch through a ring too tight for it. | format.ironing.rings[-1].bore | domed.height | -
  A smaller one tends to make the base stronger and the can less steady. | format.dome.stand_diameter | strength.reversal | -
  It is both hooks and one lid thickness, less the length of the closure. | format.seam.length | seam.overlap | -
  The figure is peak less valley over a height, | format.stock.earing | cup.ear | +
  Taking metal out of the can, by thinner sheet or thinner walls, | format.stock.gauge | flanged.mass | +
kb/checks/cupping.py
  High ears are pinched at the end of the draw and clip off; what they take in height is trimmed away as scrap. | format.stock.earing | trimmed.allowance | -
  Widen the web; the strip gets wider with it. | format.blank.web | blank.strip_width | +
  Widen the web; the strip gets wider with it. | format.blank.web | margin blank.web | +
  Widen the edge. | format.blank.edge | margin blank.edge | +
  Narrow web or edge as far as their own checks allow, or cut more across. | format.blank.web | blank.utilisation | -
  Narrow web or edge as far as their own checks allow, or cut more across. | format.blank.edge | blank.utilisation | -
  Narrow web or edge as far as their own checks allow, or cut more across. | format.blank.across | blank.utilisation | +
  Use a larger cup punch (the redraw then does more) or a smaller blank. | format.cup.punch_diameter | margin cup.draw-ratio | +
  Use a larger cup punch (the redraw then does more) or a smaller blank. | format.cup.punch_diameter | redrawn.draw_ratio | +
  Use a larger cup punch (the redraw then does more) or a smaller blank. | format.blank.diameter | margin cup.draw-ratio | -
  Use a larger cup punch, a smaller blank, or sheet with a higher strain ratio. | format.cup.punch_diameter | margin cup.draw-ratio-of-limit | +
  Use a larger cup punch, a smaller blank, or sheet with a higher strain ratio. | format.blank.diameter | margin cup.draw-ratio-of-limit | -
  Use a larger cup punch, a smaller blank, or sheet with a higher strain ratio. | stock.anisotropy.r0 | cup.limit_by_anisotropy | +
  Change the cup punch diameter; a larger cup is shorter. | format.cup.punch_diameter | cup.height | -
  Draw die and cup punch leave room for the thickened rim, and not much more. | format.cup.die_bore | cup.clearance | +
kb/checks/bodymaking.py
  Use a smaller cup punch; the first draw then does more. | format.cup.punch_diameter | margin redraw.draw-ratio | -
  Use a smaller cup punch; the first draw then does more. | format.cup.punch_diameter | cup.draw_ratio | -
  A smaller blank, so a shorter can or a thinner wall. | format.blank.diameter | margin redraw.total-draw-ratio | -
  A smaller blank, so a shorter can or a thinner wall. | format.blank.diameter | domed.height | +
  A shallower dome, or more draw-in by lighter hold-down. | format.dome.depth | margin dome.stretch | -
  A shallower dome, or more draw-in by lighter hold-down. | setting.dome-draw-in | margin dome.stretch | +
  A thicker gauge or a smaller stand. | format.stock.gauge | margin dome.reversal | +
  A thicker gauge or a smaller stand. | format.dome.stand_diameter | margin dome.reversal | -
  The estimate counts a deeper dome as thinner metal alone: | format.dome.depth | domed.wall | -
  The estimate counts a deeper dome as thinner metal alone: | format.dome.depth | strength.reversal | -
kb/checks/ironing.py
  Open this ring, or close the one before it so that it takes more. | format.ironing.rings[-1].bore | margin ironing.ring-reduction@ring 3 | +
  Open this ring, or close the one before it so that it takes more. | format.ironing.rings[-2].bore | margin ironing.ring-reduction@ring 3 | -
  Open this ring, or close the one before it so that it takes more. | format.ironing.rings[-2].bore | ironed[-2].reduction | -
  Close the idle ring. | format.ironing.rings[0].bore | ironed[0].reduction | -
  Shift work to the later ring by opening the one before it. | format.ironing.rings[-2].bore | value ironing.rising-reduction@ring 3 | +
  A thinner gauge or a thicker wall. | format.stock.gauge | margin ironing.total-reduction | -
  A thinner gauge or a thicker wall. | format.ironing.rings[-1].bore | margin ironing.total-reduction | +
  Take less in this ring; | format.ironing.rings[-1].bore | ironed[-1].stress_share | -
  keep the punch rougher than the ring, so that it helps to carry. | setting.punch-friction | ironed[-1].stress_share | -
  keep the punch rougher than the ring, so that it helps to carry. | setting.die-friction | ironed[-1].stress_share | +
  the neck gets a thinner wall than its tools say, | format.ironing.rings[-2].bore | ironed[-1].spare | +
  Open the ring before the last, or make the punch's neck diameter larger. | format.ironing.rings[-2].bore | margin ironing.thick-wall-fed | +
  Open the ring before the last, or make the punch's neck diameter larger. | format.punch.neck_diameter | margin ironing.thick-wall-fed | +
  Set the rings further apart with longer spacers. | format.ironing.rings[-1].distance | ironed[-1].engaged_from - ironed[-2].engaged_to | +
  Make the punch's neck diameter larger. | format.punch.neck_diameter | margin punch.strip-step | +
kb/checks/finishing.py
  Thin coil, a small punch and high ears come together here: | format.stock.gauge | trimmed.allowance | +
  Thin coil, a small punch and high ears come together here: | format.punch.wall_diameter | trimmed.allowance | +
  Thin coil, a small punch and high ears come together here: | format.stock.earing | trimmed.allowance | -
  a small punch makes a thick wall. | format.punch.wall_diameter | ironed[-1].thin | -
  Open the blank, lower the trim height, or iron a little thinner. | format.blank.diameter | margin trim.allowance | +
  Open the blank, lower the trim height, or iron a little thinner. | format.trim.height | margin trim.allowance | -
  Open the blank, lower the trim height, or iron a little thinner. | format.ironing.rings[-1].bore | margin trim.allowance | -
  A smaller blank. | format.blank.diameter | margin trim.waste | -
  Add stages, or share the reduction more evenly. | format.neck.stages | margin neck.stage-reduction | +
  Smaller stages, more inside air, better wax. | format.neck.stages | margin neck.stage-load | +
  Smaller stages, more inside air, better wax. | setting.neck-friction | margin neck.stage-load | -
  Start the neck lower, or trim higher. | format.neck.shoulder_height | margin neck.seaming-clearance | -
  Start the neck lower, or trim higher. | format.trim.height | margin neck.seaming-clearance | +
  a millimetre of trim is nearly a millimetre of height. | format.trim.height | flanged.height | +
  A narrower flange. | format.flange.width | margin flange.edge-strain | -
  A flange wider than the curl opening is crushed by the end: | format.flange.width | flanged.curl_clearance | -
  A narrower flange or a smaller plug diameter. | format.flange.width | margin flange.curl-clearance | -
  A narrower flange or a smaller plug diameter. | format.neck.plug_diameter | margin flange.curl-clearance | -
kb/checks/closing.py
  Longer hooks, or a shorter seam. | format.seam.body_hook | margin seam.overlap | +
  Longer hooks, or a shorter seam. | format.seam.end_hook | margin seam.overlap | +
  Longer hooks, or a shorter seam. | format.seam.length | margin seam.overlap | -
  Longer hooks, or a shorter seam. | format.seam.body_hook | margin seam.overlap-share | +
  Longer hooks, or a shorter seam. | format.seam.end_hook | margin seam.overlap-share | +
  Longer hooks, or a shorter seam. | format.seam.length | margin seam.overlap-share | -
  A longer body hook, by flange width or base pressure. | format.seam.body_hook | margin seam.butting | +
  A longer body hook, by flange width or base pressure. | format.flange.width | seam.hook_from_flange | +
  A shorter seam, or an end with a deeper countersink. | format.seam.length | margin end.countersink-room | -
  A shorter seam, or an end with a deeper countersink. | end.countersink | margin end.countersink-room | +
  A taller can. | format.trim.height | margin can.capacity | +
  Carbonation drives the pressure up with every degree; | plant.warmest | filled.warmest_pressure | +
  Less carbonation or more headspace. | format.fill.carbonation | margin can.warm-pressure | -
  Less carbonation or more headspace. | format.fill.contents | margin can.warm-pressure | -
  A thicker wall. | format.ironing.rings[-1].bore | margin can.hoop-stress | +
  a larger last ring or a smaller punch. | format.ironing.rings[-1].bore | margin can.axial-load | +
  a larger last ring or a smaller punch. | format.punch.wall_diameter | margin can.axial-load | -
  a larger last ring or a smaller punch. | format.punch.wall_diameter | ironed[-1].thin | -
  a stand too wide rides on the seam, one too narrow wanders. | format.dome.stand_diameter | value can.nesting | -
  One layer less. | format.pallet.layers | margin pallet.height | -
kb/checks/on_line.py
  Fewer across, or a press with a higher rating. | format.blank.across | cup.press_force | +
  Take less per ring, or set the rings further apart. | format.ironing.rings[-1].bore | ironed[-1].force | -
  Take less per ring, or set the rings further apart. | format.ironing.rings[-1].distance | ironed[-1].engaged_from - ironed[-2].engaged_to | +
  A tall can needs more ram travel than its own height: | format.blank.diameter | value line.ram-stroke | -
  Set the rings closer together. | format.ironing.rings[-1].distance | ironed[-1].engaged_to | +
  Neck in fewer stages, if the reduction per stage allows. | format.neck.stages | necked[0].reduction | -
kb/checks/geometry.py
  Reduce the corner radius. | format.cup.punch_radius | margin cup.punch-corner | -
  Open the die bore. | format.cup.die_bore | margin cup.die-over-punch | +
  The smaller end leaves the thick wall for neck and flange; | format.punch.neck_diameter | ironed[-1].thick | -
  Lower the step on the punch, or start the neck higher. | format.punch.step_height | margin punch.step-below-shoulder | -
  Lower the step on the punch, or start the neck higher. | format.neck.shoulder_height | margin punch.step-below-shoulder | +
  Half the difference is the wall; | format.ironing.rings[-1].bore | ironed[-1].thin | +
  Open the ring, or correct the punch diameter. | format.ironing.rings[-1].bore | margin ironing.bore-over-punch | +
  Reduce the stand diameter or the chime radius. | format.dome.stand_diameter | value dome.chime-room | -
  Reduce the stand diameter or the chime radius. | format.punch.chime_radius | value dome.chime-room | -
  Deepen the dome, or flatten it with a larger dome radius; | format.dome.depth | value dome.profile-closes@leg | +
  Deepen the dome, or flatten it with a larger dome radius; | format.dome.radius | value dome.profile-closes@leg | +
  a cap that is gone wants a wider stand. | format.dome.stand_diameter | value dome.profile-closes@cap | +
  Raise the trim height or lower the shoulder. | format.trim.height | margin trim.above-shoulder | +
  Raise the trim height or lower the shoulder. | format.neck.shoulder_height | margin trim.above-shoulder | -
  Reduce a radius, or the angle. | format.neck.shoulder_radius | value neck.profile-closes | -
  Reduce a radius, or the angle. | format.neck.neck_radius | value neck.profile-closes | -
  Reduce a radius, or the angle. | format.neck.angle | value neck.profile-closes | -
  Widen the flange or reduce the radius under it. | format.flange.width | margin flange.bend-fits | +
  Widen the flange or reduce the radius under it. | format.flange.radius | margin flange.bend-fits | -
schema/material.json
  How flow stress grows with strain: | format.blank.diameter | ironed[0].exit_strength | +
schema/size-format.json
  Half of what it is larger than the punch is the draw clearance. | format.cup.die_bore | cup.clearance | +
  Half of what it is larger than the punch is the redraw clearance. | format.redraw.die_bore | redrawn.clearance | +
  Smaller outside diameter of the punch above its step, which leaves the wall thicker for neck and flange. | format.punch.neck_diameter | ironed[-1].thick | -
  0 is upright, more leans inward toward the dome. | format.dome.leg_angle | domed.edge_angle | -
  How far the lip rises above level toward its edge; | format.flange.angle | flanged.straight | -
"""

_DOUBTFUL = """
site/faults.yaml
  The dome is shallow. | format.dome.depth | strength.reversal | +
kb/checks/bodymaking.py
  Shallow domes reverse, deep ones crack at the corner. | format.dome.depth | strength.reversal | +
"""


def _read(table: str) -> tuple[Claim, ...]:
    found, file = [], ""
    for line in table.strip().splitlines():
        if not line.startswith(" "):
            file = line
            continue
        quote, moved, result, sign = (one.strip() for one in line.rsplit("|", 3))
        found.append(Claim(file, quote, moved, result, {"+": 1, "-": -1}[sign]))
    return tuple(found)


CLAIMS = _read(_TABLE)

DOUBTFUL = _read(_DOUBTFUL)
"""Statements of the trade that the route contradicts: its estimate of the dome sees depth as thinning alone."""
