"""Words for what came after: visits, recurrence, the other groin, death, pain and complications.

A glossary of senses; `header_words_body` says how it is written.
"""

from __future__ import annotations

from typing import Final

OUTCOME: Final[dict[str, str]] = {
    "last": (
        "=last =lst letzt dernier dernièr =dern últim ultim =ult laatst =laatste seneste senast sidste "
        "=sidst siste =sist ostatn =final =latest =most_recent recent =lfu =dlc =dlfu =ddn =ost =letzte "
        "=letzter"
    ),
    "follow": (
        "follow =fu =fup =fua =lfu =dlfu nachsorge nachunters =nu nachbeob verlauf =suivi seguim segui "
        "opfølg opfolg oppfølg oppfolg uppfölj uppfolj opvolg vervolg obserwac =obs_end kontroll kontrol "
        "control contrôl contrll controlo =ctrl =kontr contact kontakt visit =visita besuch wizyt =seen "
        "=gesehen =vu =visto =gezien =sett =set =sedd =revisión revision_clin =observat =review =reviewed "
        "poliklinik =vorstellung wiedervorst =nouvelles =noticia =noticias =news =known_alive =alive censor "
        "=vivo =konsult consult =status =frequenza nachkontroll =checkup =appointment check =revisao "
        "revisão =revisione contatto contacto contato =levende =clinic wgląd =besøg =besog =besök =besok "
        "=bezoek fulgt følgt följd foljd =gevolgd gevolg =seguido =revu =revue =controlado =obs =oppfulgt "
        "uppföljd =kons konsul nachkontr =attended"
    ),
    "until": (
        "=until =bis =jusqu =hasta =fino =tot =til =till =até =ate =end =ende =to =slut =slutt =koniec =fin"
    ),
    "other": (
        "=other =others contralat contralateral kontralat kontralateral controlat controlateral gegenseit "
        "=gegen andere =anderer =andre =andra =anden =annan =autre =otro =otra =altro =altra =outro =outra "
        "drugi =druga =drugiej przeciwn przeciwl metachron opposite =opp anderseit =contro =kontra modsat "
        "motsatt motsatta =opuesto =opposé =mot =contral =another =andere_leiste =tegenovergesteld =anderen "
        "przeciwstron =przeciwna =przeciw =modsatte =motsatte =gegens contrari =cl =c/l opposit"
    ),
    "again": (
        "=re =redo =again =erneut =wieder reop reinterv reoper reeingr reexplor revisi =second zweit ponown "
        "powtórn powtorn =encore re_op heroper =relap omoper =omop =nytt =reintervento reingrepp =repeat "
        "reinterwencj =reoperación reingr reprise gjentatt wiederhol repet =upprepad upprep gentag gentagen "
        "revision previous previo précéd =prev tidigare tidligere vorher früher"
    ),
    "death": (
        "death =died =dead deceas =dod =ddd tod =todes =todesdatum versto verstorben sterbe =décès deces "
        "decedu décéd =mort =morto =morte muert muerte exitus fallec fallecim decess óbito obito falec "
        "falecim overled overlijd =overl =død =døde =dødsdato =dødsdag dødsfall =död =döds dödsdatum avlid "
        "avliden zgon =zm zmarł zmarl śmierć smierc =dth vitalstat mortal gestorb =gestorben overlev =† "
        "=dcd defunc =dc avled =defunción =ddc =umrlt"
    ),
    "pain": (
        "pain schmerz =schmz douleur =doul dolor =dolore =dor =dores pijn smert =smerte =smerter smärt "
        "smart ból bol bólu =bolu bole =cpip =cpsp =nrs_pain neuralg =vas_score inguinodyn inguinodin =dlr "
        "=doleur =spätschmerz neuropath"
    ),
    "chronic": "chron =chr przewlek kronisk cronic crónic chroni vedvarende persist długotrw",
    "none": (
        "=none =no =nein =kein =keine =aucun =aucune =non =nessuno =nessuna =ninguno =ninguna =nenhum "
        "=nenhuma =geen =ingen =inga =ikke =brak =nil =0 =no_pain =absent =zero =ej =nie =sin =sem =pas "
        "=keiner"
    ),
    "mild": (
        "=mild leicht =light =slight =leger léger legèr =légère =leve =lieve =licht =lett =let =lätt =latt "
        "łagodn lagodn =moderate moderat modéré modere mässig maessig =mäßig =moder mittel =middle =matig "
        "moderad umiark lekki =gering =sporadic =gelegentlich niewielk =minor =some =lette ligeir =ligera "
        "ligero"
    ),
    "severe": (
        "stark schwer sévère severe sever =grave intens =forte =fort =ernstig =hevig =svær =svaer =sterk "
        "=svår =svar siln =silny =ciężki ciezk =alvorlig =kraftig invalid =major =svære =sterke =svåra "
        "=disabling =kraftiga heftig =fuerte =fuertes"
    ),
    "testis": (
        "testic testik testis =testes =test hoden =hode jądr jadr jąder jader teelbal =balle tésti didym "
        "orchi =testículo =testicolo =teste =ball_"
    ),
    "atrophy": (
        "atroph atrof zanik hypotroph =atr ischem ischäm =smaller =small =kleiner =klein zaadbalatrof "
        "=skrump schrumpf =mindre atrophi verkleinert"
    ),
    "ascending": (
        "ascend aszend ascens ascent =asc ascenz hochstand hochgestieg sekundärhoch retract retraktil "
        "aufgestieg opstijg opgesteg opstig oppsteg uppstig wstęp wstep wędruj =ascended risalit ascendid "
        "oppadst ascensus hochgezogen ectop =high_riding podciągn podciagn =iatrogenic =uda =secudt remont "
        "=oppstigende =udesc uppvandr aszens =ascensor hoogstand ascendi ascender =retineret retiner "
        "uniesien =hoch uppåt =oppe =high =høy =hög =alto =elevad elevat =hoger_ ascension opadst trapp "
        "=trapped eingekl"
    ),
    "vas": (
        "=vas deferen déféren =deferente samenleiter ductus zaadleider sædleder saedleder sædstreng "
        "sädesledare sadesledare nasieniow samenstrang =vd =powrozek =powrózek deferens sädesledar "
        "=sadleder =sæd"
    ),
    "injury": (
        "injur verletz lesion lésion léson letsel skade skada =skadet =skad uszkodz lesão lesao lesione "
        "=iles beschadig läsion laesion damage =trauma schädig =plaie lesión durchtrennung_vas blessure "
        "=læsion =skadad beskadig =inj"
    ),
    "infection": (
        "=zak =zmo =woundinf wondinf =wdinf infec infekt infez infeç zakaż zakaz =ssi =wi =isq =iso =isc "
        "=sårinfeksjon sårinf "
        "=wundheilungsstörung wundheil wundinf =poi =sari =wif =sårinfektion infeks infekcj infekc infeksjo "
        "abces absces abscess abscès abszess ascess"
    ),
    "wound": (
        "wound wund =plaie =herida =ferita =ferida =sår =sar =rany =rana surgical_site =site wonde sårin "
        "=sårs incision wond =wd"
    ),
    "phone": (
        "telef teleph phone =tel =tlf tél télé =telf =call telefon fernm anruf =rung telefoon llamada "
        "=ligação =ring =tf appel"
    ),
    "registry": (
        "regist =register =reg rejestr registr =krankenkasse =database =administrative =claims =kohorte "
        "verwaltungs nationa journalgj =registro =npr databas"
    ),
    "weight_of_birth": "geburtsgewicht fødselsvekt födelsevikt fødselsvægt geboortegewicht",
    "complication": (
        "complic komplik =kompl =compl complicaz complicac powikł powikl complicaç =adverse =ae"
    ),
    "yes": (
        "=yes =y =ja =j =oui =o =sí =si =s =sì =sim =tak =t =true =vrai =wahr =x =present =vorhanden "
        "=positive =pos =positiv =ano =done =+ =ok =vero =verdadeiro =prawda =verdadero =sand =sann =waar "
        "=aan =presente =présent"
    ),
    "no": (
        "=no =n =nein =non =nej =nei =nee =não =nao =nie =false =faux =falsch =absent =neg =negativ "
        "=negative =- =not =none =keine =kein =falso =falsk =falskt =onwaar =ausente =aucun =assente =fałsz "
        "=nunca =ingen =geen =brak =ikke"
    ),
}
