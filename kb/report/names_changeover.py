"""The names of findings on changeovers and weeks; kb/report/names.py tells what stands where."""

from __future__ import annotations

from kb.book.finding import Severity

CHANGEOVER_NAMES: dict[str, tuple[str, str, str, Severity]] = {
    "changeover.repeated": (
        "No step, crew, member or piece of equipment stands in the changeover file twice.",
        "Of two with one name, a need or a plan can mean either.",
        "Rename one, or take it out.",
        "error",
    ),
    "changeover.unknown-step": (
        "Every need of a step is a step of the library.",
        "What a step waits for would never be done, or the step would not wait at all.",
        "Correct the id as the finding suggests, or write the step.",
        "error",
    ),
    "changeover.phase": (
        "No step needs one of a later phase.",
        "What is prepared before the stop cannot wait for work inside it, nor that for work after it.",
        "Take the need out, or correct the phase of one of the two.",
        "error",
    ),
    "changeover.ring": (
        "No steps wait for one another in a ring.",
        "None of them could ever begin. Hands in a machine wait for its isolation, and its release waits for "
        "them, whether or not the needs say so.",
        "Take out the need that is not one.",
        "error",
    ),
    "changeover.worst": (
        "The worst time of a step is not below its typical one.",
        "The two were exchanged, or one is a slip; plans and their spread would both be wrong.",
        "Exchange the two, or correct one.",
        "error",
    ),
    "changeover.no-machine": (
        "A step done at each machine, or with hands in one, names its machine.",
        "Nobody can tell at which machines it is done, nor which one must be isolated.",
        "Add the kind of machine.",
        "error",
    ),
    "changeover.unknown-skill": (
        "Skills of steps and members are in the list of skills.",
        "A skill under another spelling is one that nobody has.",
        "Correct it as the finding suggests, or add it to `skills`.",
        "error",
    ),
    "changeover.no-skill": (
        "Every crew has all skills that the steps on its line ask for.",
        "A plan for that crew could not be made, and a changeover would stop at the step.",
        "Give the skill to a member who is trained and authorised for it, or add a member.",
        "error",
    ),
    "changeover.people": (
        "A step takes no more people than the smallest crew has, and asks for a skill only of somebody.",
        "A step that a crew cannot man is one it cannot do.",
        "Ask for fewer people, divide the step, or take the skill out of a step that runs by itself.",
        "error",
    ),
    "changeover.unknown-equipment": (
        "Equipment that steps use is in the list of equipment.",
        "How many of it there are is not known, so steps that share it would be planned at once.",
        "Correct the id, or add the equipment with its count.",
        "error",
    ),
    "changeover.equipment": (
        "No step takes more of a piece of equipment than there is.",
        "The step could never begin.",
        "Name the equipment less often, or correct its count.",
        "error",
    ),
    "changeover.unknown-item": (
        "What calls for a step is a part, setting or supply of floor.yaml.",
        "A step called for by something that does not exist is never done.",
        "Correct the id as the finding suggests.",
        "error",
    ),
    "changeover.other-machine": (
        "A step at a machine is called for by parts, settings and supplies of that machine.",
        "It would be done when something changes at another machine, and left out when its own part does.",
        "Name the item in a step at its own machine, or leave the machine out of the step.",
        "error",
    ),
    "changeover.no-step": (
        "Every part, setting and supply of floor.yaml is changed by a step; a part by one inside the stop.",
        "The plan would leave it as it was, and the line would run the new format on a part of the old.",
        "Add its id to `because_of` of a step at its machine.",
        "error",
    ),
    "changeover.hands-in": (
        "Hands are in a machine only between its isolation and its release.",
        "In every other phase the machine can move.",
        "Correct the phase of the step; take `hands_in` out only if hands really stay out.",
        "error",
    ),
    "changeover.no-isolation": (
        "A step with hands in a machine comes with one that isolates the machine and one that releases it.",
        "Nothing is done with hands in a machine that can move. The two must be called for by everything "
        "that calls for the step.",
        "Write the steps of phase isolate and release for the machine, or complete their `because_of`.",
        "error",
    ),
    "changeover.moves-with-hands-in": (
        "A step that moves a machine by hand comes before or after every step with hands in the machine.",
        "Two people work at one machine: one turns it, the other has hands in it. The hand is crushed.",
        "Add the other step to the needs of the step that moves the machine, or the other way round.",
        "error",
    ),
    "changeover.moves-while-isolated": (
        "A step that moves a machine under power comes before its isolation or after its release.",
        "Between isolation and release hands are in the machine. A machine that moves crushes them.",
        "Let the step wait for the release of the machine, or move the machine by hand.",
        "error",
    ),
    "changeover.not-on-line": (
        "Machines that steps and clear points name stand on some line.",
        "What is written for a machine that no line has is never done.",
        "Take it out, or correct the machine.",
        "warning",
    ),
    "changeover.no-crew": (
        "Every line has a crew.",
        "Without one no changeover of the line can be planned.",
        "Add a crew for the line.",
        "warning",
    ),
    "changeover.unknown-crew": (
        "Crews of weeks are in the changeover file.",
        "Nobody can tell who is to do the changeovers.",
        "Correct the id as the finding suggests.",
        "error",
    ),
    "changeover.other-line": (
        "Crew and formats of a week belong to its line, and so does the crew of a past changeover.",
        "A plan for one line with the crew or the formats of another cannot be carried out.",
        "Name a crew of the line, or a format that is made on it.",
        "error",
    ),
    "changeover.not-released": (
        "Formats of a week may run: none is a draft or withdrawn.",
        "A draft has not passed its checks, and what is withdrawn must not run.",
        "Plan another format, or have this one released first.",
        "error",
    ),
    "changeover.due": (
        "Every run of a week is due after the week begins.",
        "It would be late before anything can be done about it; most often a day or month is mistyped.",
        "Correct the time, or the begin of the week.",
        "error",
    ),
    "changeover.clocks": (
        "The three clocks of a past changeover rise: stopped, first good can, at rate.",
        "All three count from the last good can of the old format, so a later event has the longer time.",
        "Correct the clock that is out of order.",
        "error",
    ),
    "changeover.past-name": (
        "Lines, formats and crews of past changeovers are those of the book, or are gone from it.",
        "History keeps what is gone: its class is not known any more, so it counts for no other pair. A "
        "name that is nearly one of the book, and that the register of sheet codes never had, is most often "
        "misspelt, and the changeover is missing where it belongs. A stop counts only for plans of its own "
        "crew, so one of an unknown crew counts for none.",
        "Correct the name as the finding suggests, or leave it if it was called so.",
        "warning",
    ),
    "changeover.orphan": (
        "Whatever two formats of a line differ in, something on the line changes with it.",
        "A value that differs and that no part, setting, supply or gauge answers is found out on the first "
        "cans: the changeover sheet says nothing of it.",
        "Add the key to `driven_by` of what changes, or to `no_part` of changeover.yaml with the reason why "
        "nothing has to.",
        "error",
    ),
    "changeover.answers-nothing": (
        "Whatever answers a value answers one that some format has.",
        "A part for a value that no format has is never changed, and an excuse for one covers nothing.",
        "Name the values it changes with, or take the entry out.",
        "error",
    ),
    "changeover.unknown-value": (
        "Values that need no part are values of a size format, or blocks of them.",
        "An excuse for a value that does not exist leaves the one that was meant an orphan.",
        "Correct the key as the finding suggests; `format.fill.*` stands for a whole block.",
        "error",
    ),
    "changeover.answer-repeated": (
        "No value stands under `no_part` twice.",
        "With two reasons for one value, nobody can tell which holds.",
        "Take one out.",
        "warning",
    ),
    "changeover.no-part-answered": (
        "What needs no part is not answered by one on every line.",
        "One of the two is wrong: either the part need not change with it, or the value needs the part.",
        "Take the value out of `no_part`, or out of `driven_by`.",
        "warning",
    ),
}
"""Title, reason, remedy and severity of each name."""
