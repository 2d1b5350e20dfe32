"""Words for the operation: its date, side, type, repair, approach, mesh, sac and ring, and who did it.

A glossary of senses; `header_words_body` says how it is written.
"""

from __future__ import annotations

from typing import Final

OPERATION: Final[dict[str, str]] = {
    "operation": (
        "operation operat operac operaz operaç operasj =oper =operierte =op =ops =opr =opn surgery surgical "
        "=surg =sx chirurgie chirurgia cirugía cirugia cirurgia cirurg quirurg quirúrg interven =interv "
        "eingriff ingreep ingrepp inngrep indgreb kirurgi zabieg =zab procedur procédur =proc =iq =dos =dop "
        "=ddo =fiq =kir =operated =oprd =opdag =opdato =opdat ingresoqx =qx =qco =operirt =intervento =cir "
        "operatori operatoire operatória =operatorisch procedure procédure procedimi procediment "
        "=intervencion interventi ingrep =chirurgische =chir =ok operativ peroperat =cirug operert operiert "
        "operad operati operer opérer =opereret =prosedyre prosedyr verricht =acte =geste =act"
    ),
    "side": (
        "=side =sides =seite =seiten =laterality lateralit lateralid lateraliz =lat =coté =côté =cote =lado "
        "=lato =zijde =kant =sida =strona =stronność =stronnosc =stron =lok =lokalisation körperseite "
        "koerperseite =sid =leistenseite =strony =sidolokalisation =zij =localisation =localización "
        "=localizacion =groin =opside =opseite =bruchseite =sidighed =lokalizacja =sede sideangivelse "
        "sidoangivelse =sideang sidelokal sidolokal =str lateralitat =zijde_operatie =lateralidad "
        "=lateralidade =hside seitig zijdig zijdigheid =lateral sidighet =c_l"
    ),
    "left": (
        "=left =l =lt =lft links linke =li =lks =lnks gauche =g =gche =gch izquierd =izq =izqda =izqdo "
        "=izda =izdo =izquierda sinistr =sin =sn =sx =s =sinistro esquerd =esq =e venstre =ven =vs =v =ve "
        "vänster vanster =vä =va =vänst =lewa =lewy =lewe =lewo =lewostronna lewostron =lew linksseitig "
        "linkszijdig venstresidig vänstersidig =leftsided =vsn =hø_ve =linkerkant linker =lih"
    ),
    "right": (
        "=right =r =rt =rgt rechts rechte =re =rts =rchts droit =d =dte =drt =dr derech =der =dcha =dcho "
        "=dch =dx =dex =dxt destr =des =dext dextr direit =dir =dta =dto højre hojre =hø =ho =høj høyre "
        "hoyre =høyr höger hoger =hö =hög =prawa =prawy =prawe =prawo prawostron =p =pr =praw rechtsseitig "
        "rechtszijdig højresidig høyresidig högersidig =rightsided rechter =h =rih"
    ),
    "both": (
        "=both =b bilat =bil =bi beidseit =beids =bds =bdsts =bs =beide =beidseitig beidsei beiderseit "
        "bilatéral ambos ambas =amb =ambo =ambi ambilat dubbelzijdig tweezijdig dubbel =dz =obustronna "
        "obustron =obu =obie =begge =beggesidig beggesid dobbeltsid dobbeltsidig =dobbelsidig dubbelsidig "
        "bilateral =båda =bada =dobb =beid =lr =rl =two =deux =obustr =dbl beiderz =bih"
    ),
    "hernia": (
        "herni =hern =hr bruch =brok =brokk =brock bråck brack =breuk liesbreuk przepuklin =przep "
        "leistenbruch leisten inguin =ing groin =lies lyske ljumsk pachwin =pachw =ih =lih =leiste aine "
        "ingle virilha =hi =inguinale crural =canal =kanal ernia"
    ),
    "type": (
        "=type =types =typ =typus =art =tipo =typu =rodzaj =soort =sort =tp =kind =klasse =klassifikation "
        "klassif classif klasyf =form =forma hernientyp herniatyp =typologie =typen =category kategori "
        "categor =cat =tipologia =hernietype brokktype bråcktyp =slag =subtype =klas =class =typs variete "
        "variété =clasificacion clasif =classificacao =classificazione =artder clasificac =gruppe varieta "
        "=typer kategor =htype =htyp =hernt clase"
    ),
    "finding": (
        "finding =findings befund =bef constat reperto hallazgo achado bevinding =fund =funn =fynd "
        "rozpoznanie_srod =wynik =stwierdz intraoper =intraop peroper =periop =perop =trouvaille constatat "
        "=hallazgos befunde"
    ),
    "diagnosis": "diagn =diag =dx =dg =dgn =diagnose rozpozn =rozp =ddx =diagnoza",
    "indirect": (
        "indirekt indirect =ind =indir lateral =lat laterale =oblique =obliqua oblicu =oblikv skośna "
        "=skosna skośn =obl =indiretta indirett indireto =latérale =lateralis =indirecta =congenital "
        "=lateraal =iih =oe"
    ),
    "direct": (
        "direkt direct =dir =direkte medial =med =mediale =médiale =prosta =diretta dirett direto =directa "
        "=mediaal prost =medialis =dih"
    ),
    "combined": (
        "combin kombin =comb =komb pantal =pant mixed =mixt =mixte =mixta =mixto =mista =misto =saddlebag "
        "saddle pantalon =gemischt blandet bland =gemengd =mieszana miesz =sadel =pantaloon =hosen "
        "hosenbruch bukse gecombineerd =zlozona złożon =both =begge =beide =ambas =entrambe"
    ),
    "femoral": (
        "femor =fem =femur schenkel crural =crurale =cruralis =lårbrokk lårbrok larbrok lårbråck larbrack "
        "dijbreuk udow =udowa =cruraal =kruralna =f"
    ),
    "unknown": (
        "unknown =unk =uk =unkn unbek =unbekannt =unb =unkl unklar inconnu =inc desconoc =desc =descon "
        "descoñ ignot sconosc =nk =nb =nn onbekend =onb ukjent ukendt okänd okand =okänt nieznan =niezn "
        "=nieokr desconhec ignorad =ign =nd =nr =np =na =ns =nc =ncl =missing uncertain unclear undetermin "
        "unspecif =nos =uspes =uspesifisert uspec ospec nicht_best =unbestimmt unbest indetermin nonprec "
        "=keine_angabe =ka =angabe =specified brak_danych =nieustal nieustalon indét undefined onduidelijk "
        "uoplyst =consta =bd =b.d. ingen_opl uoppgitt =oplyst =aucune_info sin_datos =sd ospecific "
        "uspecific brak"
    ),
    "known": (
        "=known =bekannt erkannt =determined determin festgest =festgestellt ermittelt assess =assessed "
        "=seen_how =identified verifi verified =bestimmt bestimmung établi =etabli =connu visualis =visu "
        "=typed =typing source =quelle =fonte =fuente =bron =kilde =källa =zrodlo źródło =basis =konstat "
        "konstater fastst fastställ =ustalono ustalon identific rozpoznano =hvordan =how =wie =comment "
        "=como =come =hoe =hur =jak =mode =modo =by =par =durch =por =door =via =av =przez =evidence "
        "vastgest påvist pavist påvisning detect detecta entdeckt detec rilev découv decouv découvert "
        "scoperta decouverte opdaget oppdaget upptäckt upptackt stwierdz wykryt ontdekt =method "
        "diagnosticat diagnosticad =diagnosed =diagnostiziert gesichert confirm konstatert constaté constat "
        "conocid conhecid nota =bekend =kendt =kjent =känd =modalita =modalité =modalidad beurteil "
        "sicherung gesich accertat accert fastsla fastslå fastslag vurder bedöm bedom =genom =gjennom "
        "sposob sposób ustal wykryc nachweis nachgew erfasst_durch fundet funnet found gefunden trouv "
        "encontrad trovat gevonden hittad znalezion kliniskt_bedömd determinac certified certif sikret "
        "sikker säkerst uppgift oppgitt eruiert opplyst bepaald bepal comprob conferm potwierdz diagnostic "
        "=detected =ascertained ascertain =evaluated =eval estim vérifi verif =picked grundlag grunnlag "
        "underlag podstaw =base =basi =base_du =check checked bestemm bestämn bestamn bestimm =evidenz "
        "=critere =criterio typebestem typbestam bestemmelse bestamning"
    ),
    "floor": (
        "=floor hinterwand =wall posterior =boden leistenboden =wand plancher =paroi =pared =parete =parede "
        "=suelo =pavimento achterwand =vloer =bund bagvæg bagvaeg bakvegg bakvägg =bakvagg =bakre =vägg "
        "=tylna tylnej =ściana =sciana =dno liesbodem =bodem lyskebund =gulv =floors"
    ),
    "examined": (
        "examin exam explor untersucht untersuch inspiz inspect inspek palpat =palp geprüft geprueft "
        "=geprft esamin esplor onderzocht undersøgt undersogt undersøkt undersokt undersökt =badano badan "
        "=badana sprawdzon vérif geöffnet explorat =clinical klinisch klinik clinique clínic clinic klinisk "
        "kliniczn =controle =visit =visita =besuch consult konsult poradnia sprechstunde ambulan ambulat "
        "=opd outpatient poliklin =amb =looked =look angesehen sprawdz vurdert undersök kontrolliert "
        "visiert"
    ),
    "view": (
        "=view =sicht =vue =vista =zicht =syn =widok =seen =gesehen =vu =visto =viste =gezien =sett =set "
        "=sedd =widziana intraopsicht"
    ),
    "code": (
        "=code =codes =codiert =coded kodiert codage =codificado =codice =kodet =kodat =kod kodow =icd "
        "=coding codific =kode =koder codifi codigo código schluss schlüssel =kodu"
    ),
    "not": (
        "=not =no =nicht =kein =keine =pas =non =sin =senza =sem =niet =geen =ikke =inte =ej =nie =bez "
        "=without =ohne =sans =zonder =uden =uten =utan =none =nein =ingen =inga =aucun =aucune =nessuna "
        "=nessun =nenhum =nenhuma =ninguno =ninguna =żaden =brak =nil =never =não =nao unexamin"
    ),
    "reason": (
        "=reason indication indikation indikasj =indik =ind =grund =motif =motivo =raison =reden =årsag "
        "=arsag =årsak =arsak =anledning indicaz indicac =wskazanie wskazan =powód =powod =przyczyna "
        "=anlass =why =causa =cause =oorsaak indicatie =razão =razon =razón orsak =grunn opgrund =warum "
        "=surgery_for"
    ),
    "size": (
        "=size =größe =groesse =grosse =grösse =taille =talla =tamaño tamano tamanho dimensi =dim =grootte "
        "=størrelse storrels =storlek wielkość wielkosc rozmiar =grandezza =gr =fingers finger defektgr "
        "bruchgr =ancho defektstr dimensio =tam =wielk =rozm =gro =larg =diam_herniaire dimension dimensie "
        "=dimensioni =dimensione =dimensiones =dimensões =hsize =hernsize"
    ),
    "ehs": "=ehs =miserez",
    "ring": (
        "=ring leistenring =anneau =anello =anillo =anel =annulus bruchpforte bruchpforten =pforte "
        "bruchluck bruchlück =orifice =orificio =orifizio defect defekt =defecto =difetto =defeito brokport "
        "brokkport bråckport brackport pierścień pierscien wrota =wrot =porta =port breukpoort lyskering "
        "=inre =iir =dir"
    ),
    "diameter": (
        "diam durchm durchmess =mm =width =weite =breite =largeur =ancho =anchura =larghezza =largura "
        "=breedte =bredde =bredd średnic srednic szerok =ø =millimetre millim diámetro"
    ),
    "primary": (
        "primär primar =prim primair primaire =pri =first =erst pierwotn =premier =prima primitiv =p =erste "
        "=erster =erstes =første =första =1. =initial primaer =1st"
    ),
    "recurrent": (
        "recur récid recid réciv rezid =rez =rec recidiv =reci recidief =rcd =rdv residiv nawrot =nawr "
        "=wznowa wznow =relapse rückfall recrud tilbagefald =tilbakefall återfall recaiv recaíd =rr =recdiv "
        "=recorrente recorren recorrênc =reincid =rek recurr recurren =nawrót recurrenc rezidiv "
        "=wieder =gjentatt"
    ),
    "occurrence": "=occurrence primrez =primrec =primrezidiv =auftreten =primrecid",
    "repair": (
        "repair =reparation riparaz reparac réparation =rep hernioplast plastik plastyk =plastica =plastie "
        "=plastia =plasty rekonstru reconstr herniorr naprawa =cure =cura =reparo =reparación "
        "bruchversorgung versorgung zaopatrz =naprawcza repar atgard åtgärd procede =procédé =proc closure "
        "=acte =geste verricht prosedyr =plastyka verschluss fermeture =cierre rekonstruk"
    ),
    "method": (
        "technique technik tecnica técnica =tec =tech =techn techniek teknik teknikk =tekn =method =metode "
        "=mode =modo =modus =modalidade "
        "=metoda =metodo =metod =meth =méthode =método verfahren =verf =opverfahren =modalité metodik "
        "technika operationsmetod methode"
    ),
    "approach": (
        "approach zugang =zug =accès =acces =acceso =accesso =acesso abord =abordaje =abordagem =voie =vía "
        "=via =tilgang =adgang toegang =dostęp =dostep =approccio zugangsweg =åtkomst =atkomst =appr "
        "benadering =apprch =tillträde =zugangsart =route access =dostepu zugan =dojscie =entrance"
    ),
    "laparoscopic": (
        "laparosc laparosk =lap =lape =laps =lsk =lsc =lps =mic endoskop endoscop =endo laparoskopowo "
        "minimalinv minimally keyhole schlüsselloch =tapp =tep =tepp =ipom =lpec =pirs =seal =lihr celio "
        "coelio cœlio celiosc kikkert kijkoper robot titthål titthal =vls =mis =video videolap "
        "preperitoneal_endo =etep =lapro =scope =kamera =camera =cámara =skop =laparoskop scopisch skopisch scopic "
        "=scopie =scop =skopi =skopisk =skopiskt =scopic =scopy =kikkhull kikhull =vlsk"
    ),
    "open": (
        "=open offen ouvert abiert apert =aperta abert =åben =aben =åpen =apen =öppen =oppen otwart "
        "=konventionell konvent convenc convenz conventionnel =inguinal_open =klassisch klassisk =classic "
        "=tradiz inguinotom =anterior =otw lichtenst shouldic =bassini =mcvay =desarda =conv klasyczn"
    ),
    "mesh": (
        "=mesh netz filet =filets prothès prothes prótes protes malla =malha =tela =rete =nät =nat =net "
        "=nett =matje kunststof siatk treilli implant =mat =rede =plaque =tapp =tep =tepp =ipom "
        "=lichtenstein lichtenst =plug =onlay =sublay =phs =etep =stoppa =rives =rutkow =trabucco =gilbert "
        "=kugel =nyhus =tipp =netzplastik alloplast meshplast =prolene =ultrapro =polypropylen prothese "
        "protesi netimplant nätplastik hernioplastia hernioplastica =onstep =tep/tapp =3dmax =wantz "
        "=prothesis =mesh_plug =ugahary =lihr =siatka =siatki netzeinl =netting netze =mreza prosthes "
        "=prosthesis =protese matplast =transabdominal =preperitoneal"
    ),
    "tissue": (
        "=tissue shouldice bassini =mcvay =vay desarda marcy =nahtverfahren =naht suture sutur herniorr "
        "=raffung =halsted =zimmermann =girard =czerny =lotheissen =kirschner =moloney =darn =berliner "
        "=annandale =nyhusiii =nahtplastik =hechting =rrafia =rafia herniorrafia herniorrhaph herniorrhafi "
        "=tkank gewebe =vävnad =vavnad =vev =væv =tejido =tessuto =weefsel =bindväv =ferrari =schumpelick "
        "=szew =szwy =szwem =rafi =nonmesh =mackay =anatomique =anatomical raphie =reparatio tkankow autolog"
    ),
    "ligation": (
        "=ligation ligat ligatur ligature =herniotomy herniotom =herniotomie =herniotomi =ht =hernotomie "
        "=ligadura =legatura =ligatura =podwiązanie podwiaz podwiąz hochlig =ferguson =potts =mitchell "
        "=banks =gross =pirs =seal =lpec =lpirs =plirs =turkish =percutaneous_lig =flipflap "
        "=bruchsackabtragung abtragung =bruchsackligatur =herniektomie herniectom =sacligation =pils =piler "
        "=hook =schier =processusverschluss =pvligatur ligering kielotom =herniotomia =ligate =ligated =hl "
        "=sekkligatur =czerny_ligatur =ladd ringverschl laqueac laqueaç =erniotomia erniotom ringsutur"
    ),
    "percutaneous": "percut perkut przezsk =pirs =seal =lpec =plirs =piler =perc =hook =transcutan",
    "sac": (
        "=sac =sacs bruchsack =sack =sacco =saco herniesack =säck brokksekk bråcksäck bracksack broksæk "
        "broksaek =sæk =saek =sekk =worek =worka breukzak =zak =herniensack herniasac bruchsackes "
        "przepuklinowego =brokksekken =broksækken =bråcksäcken"
    ),
    "divided": (
        "divid section transect durchtr =durchtrennt =ligated abgetr abgesetz abgesetzt =delt =doorgenomen "
        "doorgesned przecię przecie sectionn seccion seziona seccionad resezi reseca resect resec resek "
        "excis excid exzid delning delad gjennomskåret overskåret overskaret överskuren avskåret usunięt "
        "usuniet removed =cut divis verwijderd gedeeld dzielony odcięt odciet =durchtrennung =trennung "
        "abtrag =abgetragen kliev kliefd gekliefd avdel seccio secç seccao secti afgezet bruchsackabtragung "
        "=abtragung"
    ),
    "narrowed": (
        "narrow eingeengt einengung verengt vereng tighten resserr rétréc retrec rétréci estrech estreit "
        "restrin vernauw forsnævr forsnaevr innsnevr insnævr indsnævr indsnaevr förträng fortrang zwęż zwez "
        "zwęzen =raffung gerafft raff closed_ring fermeture constrict plication insnevr zwężen forminsk "
        "fermé restring stretto =åtdragen =åtstramad cerrad cierre fechad ferm chius =chiuso =closed "
        "=stängd =lukket =gesloten zamkn narr förminsk einraff enger =engstell contrict strett sluten tätad "
        "forsnev"
    ),
    "emergency": (
        "emerg urgen urgên notfall =notf =emer =urg =urge akut =acute =acut =acuut =acuta =agud =agudo "
        "=nagły =nagly nagl nagłe pilny =pilne =ostry øyeblikk oyeblikk =øhjelp =øh haste =immediate "
        "dringlich hasteop ostrodyż =cito =incarc =inkarz unplanned ungeplant =akutt hastende =nagłość "
        "=hjelp =ohjelp akuttil hospitalizacion_urgente spoed pilno dringl hast =em ostrodyz"
    ),
    "urgency": (
        "=urgency =urgentie dringlichkeit =priority priorit priorid =hastegrad =ncepod =tryb =trybie =trybu "
        "=regime =régimen =regimen =dringlichkeitsstufe =urgentiegraad =contexte =carácter"
    ),
    "elective": (
        "electiv elekt elektiv =elect =elek =elec planned geplant =plan =planlagt planlagd planer planow "
        "planmäss planmaess programm programad program =progr =routine =gepland elezione =elet eletiv "
        "=dlectiv =el planmässig scheduled d'élection =électif electie regle réglé"
    ),
    "specialty": (
        "special spécial fachricht fachabt fachdis fachgeb =fach =spec =spez =specialist disciplin =service "
        "=servicio =servizio =serviço reparto =afd afdeling avdeling =avd oddzial oddział =oddz especialid "
        "depart =dept =dep abteil =abt speciale =klinik =clinic specjaln spesialitet =vakgebied =unit "
        "=unidad =ambito =team =specialisme =fachklinik unita =unità avdelning specjaliz specjalist "
        "operativa_unit =uo =fa unité unite =equipe =équipe"
    ),
    "surgeon": (
        "surgeon =surgeons =chirurg operateur =opérateur operator operatör operatør cirujan =cirujano "
        "cirurgião =cirurgiao chirurgien =chirurgo =chirurga =kirurg =operierender =operador =operatore "
        "opererende =operatøren =surgn =surgid =consultant operarzt =arzt =lekarz =médecin =medico =médico "
        "=arts =läkare =lege =læge =opererer =oberarzt =cons =operated_by =doctor =physician =opererad "
        "=hovedoperatør hovedoperator =operatora =surgcode =opererad_av kirurgkode lead_surgeon =lead =surg "
        "=chir =cir =operat"
    ),
    "note": (
        "=note =notes =notat =text =freetext =freitext =fritext =fritekst =testo =texto =texte =tekst "
        "bericht opbericht operationsbericht verslag =compte =rendu =cr =cro =crop protokoll protokół "
        "protokol =protocolo =informe =report =relato =relazione =referto descri opis beskriv beretning "
        "narrativ =diktat dictat =opnote =opnotat =opbeskrivelse operasjonsbeskrivelse =verbale =memo "
        "operationsberättelse berättelse berattelse =relatório relatorio =dictation verlaufstext =hoja "
        "rapport =descricao =descripcion beskrivelse beschreib opbeschreib beschrijv anteckn =details "
        "=detail przebieg verlauf =noter"
    ),
    "comment": (
        "comment kommentar komment bemerk remark remarque observa observação =obs =nota =note =opmerking "
        "opmerk anmärk anmark merknad bemærk bemaerk uwagi anmerk osserva sonstig notiz"
    ),
    "used": (
        "=used verwendet =usado =usada utilis =utiliz =brukt =brugt =använt =gebruikt użyt uzyt =applied "
        "implanted placed colocad =pose posizion =anvendt eingesetzt eingebracht insert =gebraucht =użyto "
        "=wszyto zastosow"
    ),
    "hydrocele": (
        "hydrocel hydrozel hydrokel hidrocel hydrocèle idrocel wodniak vannbrokk vandbrok vattenbråck "
        "waterbreuk wasserbruch =hydro hydrocoel"
    ),
    "processus": (
        "processus =ppv =cppv =cpv =opv proceso process prozess vaginalis =pv patent péritonéo vaginal "
        "=nieszwykł przetrwał wyrost incidental =passing zufällig nebenbefund zufallsbef conduit asymptomat "
        "=cpvp"
    ),
    "orchidopexy": (
        "orchid orchidop orkid orchidopex orchiopex =udt kryptorch cryptorch criptorq criptorch undescend "
        "testispex hodenhochst leistenhoden leistenhod maldesc retinert retent orquidop wnętr wnetr "
        "wnętrostw orchidopexi niezstąp retention"
    ),
    "paediatric": (
        "paedia pediat pädia kinderch kinder pédia infant infantil barnekir børnekir bornekir barnkir "
        "dziecięc dzieciec =kch =kic =ped =pediatr =children barn kinderheelk =peds =paed =chd =chp "
        "=børnekirurgi =barnkirurgi =barnekirurgi =ps"
    ),
    "general": (
        "general allgemein général viszer =ach =avc =gen =gastro =vch algemen algemeen allmän allman ogóln "
        "ogoln visceral digest kirurgisk_gastro gastrokir =gs =gensurg =chirurgia =chirurgie =kirurgi "
        "=cirugia =viszeralchirurgie =heelkunde organkir =adult volwassen gastroenter parenkym geral"
    ),
    "urology": "urolog =uro =urol",
    "by": (
        "=by =par =por =durch =door =av =af =przez =da =von =ved =genom =gjennom =via =mit =à =from =fra "
        "=fr =aus =från"
    ),
    "high": "=high =hohe =hoch =haute =alta =alto =hoge =høj =høy =hög =wysokie",
}
