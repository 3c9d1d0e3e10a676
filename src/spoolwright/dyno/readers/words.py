"""The words columns are named with, in the languages loggers speak: English, German, French, Italian, Spanish, and the
commonest Portuguese, Dutch, Swedish and Polish ones. Accents are taken off first ("Öltemp" is "oltemp").

A word speaks for a subject (oil), a quantity (pressure), or for a role at once (lambda). Common practice, no source.
"""

# ruff: noqa: E501  (word lists read better wide)

from __future__ import annotations

from typing import Final


def listed(words: str) -> frozenset[str]:
    """The words of a text as a set."""
    return frozenset(words.split())


# Whole words, mostly short ones. s: subject, q: quantity, r: role, x: not a measured channel of ours.
WORDS: Final[dict[str, str]] = {
    meaning_word: meaning
    for meaning, spelled in {
        "r:time": """time t zeit temps tempo tiempo tid tijd czas aika elapsed heure ora hora uhrzeit timestamp clock laufzeit zeitstempel
            messzeit cas sec secs seconds sekunden ms millis timer utc zeitpunkt klokslag secondes secondi segundos tempi epoch unixtime""",
        "r:date": "date datum data fecha dato dia giorno",
        "q:speed": "rpm rpms n speed tacho tach revs rev giri giro vitesse velocita velocidad drehz u upm tours vueltas tr regime revoluciones",
        "q:temp": "temp tmp temperatur temperature temperatura tem celsius fahrenheit teplota",
        "q:pressure": "p press pres pr pressure druck pression pressione presion pressao tryck druk dr prs dp psi cisnienie tlak",
        "q:flow": "rate flow debit portata caudal fluss mf qm",
        "q:voltage": "volt volts voltage v u ubatt spannung tension tensione vdc spanning",
        "q:torque": "torque trq tq md couple coppia par moment vrid drehmoment koppel mt momento nm",
        "q:power": "power pwr hp bhp whp ps kw leistung puissance potenza potencia cv ch effekt vermogen pk moc vykon",
        "q:position": "pos position stellung winkel angle angolo angulo opening pct percent prozent",
        "q:load": "load last carico carga belastung belasting",
        "s:oil": "oil oleju oleje oel ol huile olio aceite olie olja oleo olej eng_oil",
        "s:water": "water wasser eau acqua agua coolant clt ect wt cts kuhlmittel vatten kylvatten koelwater twater",
        "s:head": "head heads cht kopf kopfe zk culasse testa testata culata zylinderkopf topp cabeca cabecote glowica glowicy hlava hlavy testate culatas culasses",
        "s:cylinder": "cyl zyl zylinder cylinder cilindro cil cylindre",
        "s:exhaust": "abg exhaust exh egt egts abgas scarico escape echappement ech tit auspuff avgas uitlaat escapamento pyro spalin vyfuk vyfuku",
        "s:fuel": "kraft kr ff fuel bransle paliwa gasoline petrol benzin essence benzina gasolina kraftstoff combustible carburante carburant combustivel brandstof bensin paliwo palivo paliva fp sprit",
        "s:air": "air luft aria aire ar lucht powietrze",
        "s:ambient": "umg ambient amb cell room umgebung ambiente ambiant ambiante aussen omgeving omgivning otoczenia okoli outside cabina atm atmo atmospheric ambiance esterna",
        "s:intake": "intake inlet iat admission ansaug aspiration aspirazione admision aspirata aspirato aspire admissao inlaat",
        "s:charge": "charge ll llk plenum intercooler ic hat mat act boostair post ladeluft hut",
        "s:manifold": "saug manifold collecteur collettore colector saugrohr map krummer coletor tubulure",
        "s:boost": "lade boost vac vacuum ladedruck suralimentation suralim sovralimentazione sobrealimentacion soplado laddtryck laaddruk uberdruck sovrapressione surpression doladowania plnici ld",
        "s:turbine": "turbine turbina",
        "s:turbo": "turbo turbocharger atl lader turbolader compressor turbocompresseur turbocompressore",
        "s:roller": "roller drum roll rolle rollen rouleau rullo rodillo walze rol rulle dynoroller rouleaux rulli tambour tamburo tambor wheelroller",
        "s:crankcase": "crankcase ckp carter basamento kurbelgehause pcv kgh ccp",
        "s:drive": "drive",
        "s:pump": "pump pumpe pompe pompa bomba pomp",
        "s:battery": "battery batt bat batterie batteria bateria vbat vbatt ubat bord supply accu akku ecuv sysv",
        "s:throttle": "throttle tps tp thr pedal drosselklappe dk papillon farfalla mariposa gaspedal gas acelerador accelerateur acceleratore app gashebel tpos drossel gasklep gasspjall borboleta przepustnica przepustnicy klapka",
        "s:spark": "spark ign ignition timing adv advance avance anticipo zundung zundwinkel zzp encendido allumage accensione zw fruhzundung zundzeitpunkt sparkadv vorzundung tandning ontsteking zaplon zaplonu zapalovani predstih",
        "s:engine": "engine eng motor moteur motore mot crank kurbelwelle",
        "r:knock": "knock knk klopf klopfen cliquetis detonation battito picado ping detonazione detonacion knocking kloppen klingeln",
        "r:lambda": "lambda lam lambdas",
        "r:mixture": "wideband wbo wb sonde o2 uego lsu mixture gemisch breitband melange miscela mezcla sonda ego breitbandsonde lambdasonde",
        "r:afr": "afr afrs afr1 wbafr",
        "r:equivalence_ratio": "phi richesse equivalence eqr equiv dosado dosage ricchezza riqueza",
        "r:barometer": "baro barometer luftdruck barometric baromètre barometre barometro baropressure patm barometrica barometrico barometerdruck",
        "r:gear": "gear gang marcia marcha rapport versnelling vaxel bieg",
        "r:marker": "marker mark marke event ereignis repere evento flag markierung markers bookmark",
        "r:remark": """note notes remark remarks comment comments bemerkung bemerkungen kommentar remarque remarques commentaire commentaires nota
            osservazioni observaciones comentario commento notiz notizen annotation opmerking anmerkung text osservazione observacion info""",
        "x:corrected": "corrected korrigiert korr norm normiert corrige corrigee corretta corretto corregida corregido gecorrigeerd sae std",
        "x:set": "target soll setpoint sollwert desired tgt goal cible consigne bersaglio obiettivo objetivo request requested demand cmd command commanded ziel objectif nominal vorgabe",
        "x:other": """emission co hc nox ppm distance strecke weg zugkraft tractive force error trim duty dc injector inj pw wastegate wg solenoid correction corr fan vehicle veh gps slip accel acceleration
            lat lon latitude longitude altitude humidity feuchte humidite umidita humedad dwell pulsewidth status state lap g gx gy gz heading limit limiter cut retard
            trans transmission gearbox getriebe diff cabin index idx row sample sync delta""",
    }.items()
    for meaning_word in spelled.split()
}  # fmt: skip

# Parts of longer words (compounds). The longest that is found first speaks.
STEMS: Final[tuple[tuple[str, str], ...]] = tuple(
    sorted(
        (
            (stem, meaning)
            for meaning, spelled in {
                "r:barometer": "luftdruck barometer barometr umgebungsdruck ambientpressure patmos",
                "s:boost": "ladedruck boost suralim sovralim sobrealim laddtryck laaddruk uberdruck ueberdruck turbodruck doladow",
                "s:charge": "ladeluft chargeair intercool llk chargetemp",
                "s:manifold": "saugrohr manifold collecteur collettor colector",
                "s:intake": "ansaug intake admission aspira admision",
                "q:speed": "drehzahl toerental varvtal obroty revoluc speed geschwindigkeit regime rotacao rotazion otackyy",
                "q:temp": "temp temperatur warmte",
                "q:pressure": "druck pressur pression presion pressao tryck cisnienie",
                "q:flow": "verbrauch durchfluss massenstrom consum volumenstrom durchsatz",
                "q:voltage": "spannung voltage tension",
                "q:torque": "drehmoment torque vridmoment",
                "q:power": "leistung puissance potenz potenc power",
                "s:oil": "oltemp oldruck oeltemp oeldruck motorol motoroel oildruck oljet oliedruk olietemp oiltemp oilpress oilp oldr",
                "s:water": "kuhlwasser kuehlwasser kuhlmittel kuehlmittel wasser coolant kylvatten koelwater refroid refriger raffredd watertemp",
                "s:head": "zylinderkopf kopftemp headtemp culass culata testata cylhead kopf",
                "s:cylinder": "cyl zyl zylinder cylinder cilindro cil cylindre",
                "s:exhaust": "abgas exhaust echappement scarico escape auspuff avgas uitlaat vyfuk",
                "s:backpressure": "ebp gegendruck backpressure contrepression contropression contrapresion drivepressure emap staudruck",
                "s:fuel": "kraftstoff benzin treibstoff fuel carburant combustib gasolin verbrauch consumpt consommation consumo brandstof bransle paliw paliva",
                "s:ambient": "umgebung ambient atmosph atmosf aussenluft raumluft prufstand",
                "s:air": "lufttemp airtemp",
                "s:turbo": "turbolader laderdreh turbodreh turbospeed turborpm turbocomp",
                "s:turbine": "turbin",
                "s:roller": "rollen rouleau rodillo rullo walzen roller",
                "s:crankcase": "kurbelgeh crankcase basamento",
                "s:drive": "drive",
        "s:pump": "pumpe pumpen pump pompe pompa",
                "s:battery": "batterie battery batteria bateria bordspann bordnetz",
                "s:throttle": "drossel throttle papillon farfalla mariposa gaspedal accelerat acelerador",
                "s:spark": "zundwinkel zuendwinkel zundzeit zuendzeit zundung zuendung ignition spark allumage encendido accensione anticipo",
                "s:engine": "motor engine moteur",
                "r:knock": "klopf knock cliquet detona",
                "r:lambda": "lambda",
                "r:mixture": "breitband wideband",
                "r:equivalence_ratio": "richesse equivalence",
                "r:time": "zeitstempel timestamp messzeit uhrzeit elapsed logtime runtime timesec zeitachse",
                "r:remark": "bemerk kommentar remarque commentair osservaz observac comentari",
                "x:corrected": "corrected korrigiert korr norm normiert corrige corrigee corretta corretto corregida corregido gecorrigeerd sae std",
        "x:set": "sollwert setpoint target",
                "x:other": "getriebe wastegate injector injekt feuchte humid einspritz",
            }.items()
            for stem in spelled.split()
        ),
        key=lambda pair: -len(pair[0]),
    )
)  # fmt: skip
