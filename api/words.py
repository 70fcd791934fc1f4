"""Words of lists that are shown to people: marks them for the catalogue, so that they can be said.

The lists themselves stay English where they are stored and sent to machines; a page looks a word up
when it shows it. Tests hold the choices of every list against the catalogue.
"""

from django.utils.translation import gettext_noop as _

PARTS = (
    *(_("valve"), _("boot"), _("net"), _("handle"), _("band"), _("manifold"), _("pony clamp")),
    *(_("stage rigging"), _("other"), _("in its bag"), _("on its cylinder"), _("accounted for")),
)
STATES = (
    *(_("in service"), _("rejected"), _("condemned"), _("passed"), _("invalid"), _("held")),
    *(_("attached"), _("held for a person"), _("dismissed"), _("superseded"), _("voided")),
    *(_("standing"), _("planned"), _("claimed"), _("sending"), _("sent"), _("failed")),
    *(_("unsure"), _("withdrawn"), _("waiting"), _("delivered"), _("stored"), _("refused")),
    *(_("stored, held for a person"), _("was there before"), _("judged only")),
    *(_("waits for a person to name its cylinder"), _("kept back by another line")),
    *(_("looked"), _("changed"), _("handed out"), _("erased"), _("everything")),
    *(_("name and address"), _("e-mail"), _("text message"), _("unknown"), _("missing")),
)
PUBLIC = (
    *(_("IN DATE"), _("DO NOT FILL"), _("NOT KNOWN"), _("Air"), _("Enriched air (nitrox)")),
    *(_("Oxygen"), _("Yes"), _("No"), _("Not known")),
)
RECALL = (_("may have gone"), _("handed over on paper"), _("not taken by the mail server"))
STAGES = (
    *(_("received"), _("torn down"), _("at lab"), _("back"), _("inspected"), _("reassembled")),
    *(_("filled"), _("ready"), _("collected")),
)
TAGS = (
    *(_("cylinder tag"), _("teardown tag"), _("bag tag"), _("kit tag"), _("blank"), _("live")),
    *(_("retired"), _("spoiled in printing"), _("reserved"), _("sent to the printer")),
    *(_("seen and good"), _("spoiled"), _("cylinder"), _("teardown"), _("bag"), _("kit")),
)
SERVICES = (
    *(_("hydrostatic requalification"), _("internal visual inspection"), _("oxygen cleaning")),
    *(_("valve service"), _("fill"), _("requalification"), _("visual"), _("hydro")),
    *(_("air"), _("nitrox"), _("oxygen"), _("special permit"), _("country")),
    *(_("reminders of what is due"), _("news of a cylinder in the shop")),
    *(_("internal visual"), _("thread examination"), _("scuba"), _("industrial"), _("fire")),
)
FINDINGS = (
    *(_("pass"), _("fail"), _("not done"), _("sound"), _("good"), _("ok"), _("dent"), _("bulge")),
    *(_("arc or heat marks"), _("corrosion"), _("other damage"), _("inside"), _("outside")),
    *(_("threads"), _("internal"), _("external"), _("clear"), _("indication"), _("crack")),
    *(_("common practice"), _("second-hand"), _("from memory"), _("law"), _("read")),
    *(_("inspection"), _("drying"), _("calibration"), _("above"), _("within"), _("and")),
)
FILES = (
    *(_("photo"), _("eddy current trace"), _("paper of a lab"), _("the whole cylinder")),
    *(_("the stamp"), _("damage or wear"), _("the inside"), _("neck and threads")),
    *(_("valve and parts"), _("an eddy current trace"), _("the check of the day")),
    *(_("the chart of a test"), _("a certificate"), _("something else")),
)
MARKINGS = (
    *(_("stamp text"), _("authority"), _("specification"), _("permit"), _("service pressure")),
    *(_("pressure unit"), _("serial"), _("manufacturer mark"), _("material"), _("alloy")),
    *(_("neck thread"), _("first test"), _("requalified"), _("requalified symbol")),
    *(_("requalified rin"), _("stamped due"), _("life end"), _("spec"), _("standard")),
    *(_("working pressure"), _("test pressure"), _("min test pressure"), _("inspector mark")),
    *(_("test date"), _("initial date"), _("date"), _("rin"), _("symbol"), _("thread")),
    *(_("ree cc"), _("word"), _("value"), _("method"), _("due"), _("original")),
    *(_("original un"), _("requalification megc"), _("condemning mark"), _("life")),
    *(_("hold seconds"), _("total expansion"), _("permanent expansion"), _("disposition")),
    *(_("reason"), _("operator"), _("stamp"), _("steel"), _("aluminium"), _("nickel")),
    *(_("composite"), _("water jacket"), _("direct expansion"), _("proof pressure")),
    *(_("nothing"), _("owner"), _("identification number")),
)
#: codes of what a rule found, as a refusal names them
CODES = (
    *(_("numbers possible"), _("plausible"), _("gauge"), _("eddy current"), _("repeat")),
    *(_("elastic expansion"), _("plus"), _("thread unknown"), _("thread same")),
    *(_("thread look alike"), _("stamp not fully read"), _("pressure unknown")),
    *(_("plus relief unknown"), _("plus conditions"), _("permit expired")),
    *(_("oxygen clean unknown"), _("over pressure"), _("not refillable")),
    *(_("not oxygen clean"), _("not for underwater"), _("near limit"), _("life unknown")),
    *(_("life ended"), _("hold"), _("heat"), _("gates"), _("fills unknown"), _("fills ended")),
    *(_("expansion device"), _("certificate"), _("authority unknown"), _("match")),
    *(_("wrong cylinder"), _("already fitted"), _("other thread")),
    *(_("requalification overdue"), _("requalification unknown")),
    *(_("internal visual overdue"), _("internal visual unknown")),
    *(_("thread examination overdue"), _("thread examination unknown")),
    *(_("oxygen cleaning overdue"), _("oxygen cleaning unknown")),
)
