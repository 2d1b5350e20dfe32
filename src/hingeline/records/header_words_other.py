"""Words for what is no field of a case, so that such a column does not pass for one: admission, booking, theatre.

A glossary of senses; `header_words_body` says how it is written. ``little`` words say nothing.
"""

from __future__ import annotations

from typing import Final

OTHER: Final[dict[str, str]] = {
    "admission": (
        "admiss admit =adm aufnahm aufgen =entrée =entree =ingreso ricover opname indlæg indlaeg innlegg "
        "inskriv inlägg inlagg inskrivn przyję przyje internam =doa ingress =eintritt =hosp hospitalisation "
        "=ein =aufn =intern innkomst =inn"
    ),
    "discharge": (
        "discharg entlass =sortie =alta dimiss ontslag udskriv utskriv wypis =austritt =los =entl saída "
        "=egreso =hjemsendt =ut =exit aufenthalt verweildauer liegedauer stay ligge vårdtid vardtid "
        "liggetid opnameduur hospitaliz degenza pobyt séjour estancia =estadia"
    ),
    "booking": (
        "booking booked =listed waiting wait warte anmeld referr =ref_date zuweis zugewiesen überweis "
        "ueberweis verwijz verwijs henvis remiss skierow planif einbestell schedul espera attesa attente "
        "vente venteliste vänte kö =wartel prenotaz wachtlijst oczekuj lista wpis opmeld oppmeld programac "
        "kolejk kwalifik"
    ),
    "consent": "consent einwill aufklär aufklar consens consentim toestem samtyk samtyck zgod zgód",
    "entered": (
        "entered =entry created creation updated modif =export extract eingeb eingegeb erfass erfassung "
        "erstell angelegt saisie capturad invoer ingevoerd indtast inntast inmatad inmat =registreret "
        "registrert registrering wprowadz dokumentiert validat uploaded imported exporta timestamp =stamp "
        "=changed änder geändert aggiorn actualiz atualiz inserim registrazione inserz ingave =udtræk "
        "=uttrekk =uttag generowan wygener druck printed edited gewijz ultima_mod =lastupdate =input "
        "registro =registered =reg =indlagt_dato"
    ),
    "first_visit": (
        "erstvorst erstkontakt première =premiere erstunters presentat vorstell =prvisit onset beginn "
        "=début debut inicio inizio aanvang =start symptom objaw"
    ),
    "next": (
        "=next nächst naechst nachst prochain próxim proxim =prossim volgend næste naest neste nästa nasta "
        "następn nastepn =due plan_visit"
    ),
    "anaesthesia": (
        "anaesth anesth anest anäst anaest =anä narko narkos =asa sedat bedøv bedov znieczul verdoving "
        "anestes =rachi spinal =aa"
    ),
    "duration": (
        "duration dauer durata durée duree duracion duración duração duur varighed varighet =tid opertid "
        "czas =minutes =min =mins =time_in operationstid =zeit =uhrzeit =heure =hora =ora =tijd =godz "
        "=beginn =ende_zeit =start =einschnitt =schnitt =naht schnittnaht =knife =skin =tiempo =temps "
        "=tempo"
    ),
    "place": (
        "=theatre =theater =ward station =saal =salle =sala =room =bed kamer =zimmer =oddz_lok =quirofano "
        "quirófano =stue =sal =post =sengepost =vårdavd =location =site_code standort =campus =centre "
        "=center =centro =zentrum =sted =ort =plats =place =house =haus ziekenhuis szpital hospital sykehus "
        "sygehus sjukhus =klinik hopital"
    ),
    "insurance": (
        "insur versich assur aseg assic verzek forsik försäk ubezp kasse =nfz =payer =cost =drg mutuelle "
        "=tarif =price =ssn_reg tessera insurance"
    ),
    "blood": (
        "blood blut sang sangre sangue bloed blod krew krwi =hb =crp =rh transfus antibio antibiot =abx "
        "prophyl profyl profil profilaks"
    ),
    "person_name": (
        "surname forename firstname lastname vorname nachname =name =names =nom =prénom =prenom =nombre "
        "=apellido =apellidos =cognome =nome =naam =navn =namn imię =imie nazwisko fornavn etternavn "
        "efternavn fornamn efternamn voornaam achternaam initial"
    ),
    "contact_way": "address adress =strasse postcode postal email e_mail =mobile =handy plz postleit cep",
    "smoking": "smok rauch nikotin tabac tabaq fum rook røyk ryg rök pal tyton nicotin =alcohol",
    "disease": (
        "comorb begleiterk komorb vorerkr =history antéc anteced anamn diabet heart allerg medik medic cough"
    ),
    "grade": (
        "grade level experience =trainee weiterbild supervis =assistant assist assistenz erfahrung "
        "dienstgrad =junior =senior uddann utdann erfaren =doswiad aiuto =ayudante seniorit kompetenz =rank"
    ),
    "icd": (
        "=icd =opcs =ops =ccam =ncsp =nomesco =dks =kva =kvå =cpt =dbc =cepod =icpm =opskode =opkode "
        "=skskode =sks =icd9 =cim =cie =jab =jah =kka"
    ),
    "row": (
        "=row =line =zeile =laufende =lfd =lfdnr =ligne =fila =riga =linha =rij =rad =række =wiersz =lp "
        "=seq sequence =index =idx =counter =ordinal =regel =pos"
    ),
    "case": (
        "=case =cas =caso =fall fallnummer fallnr =episode encounter aufnahmenr kontakt_id =opid =opnr "
        "opnummer operationsnummer =fallid =stay_id epizod przypad =visit_no =zaak vårdtillf vardtillf "
        "forløb =event =instance =sak =tillfälle =hospitalizacja"
    ),
    "ethnic": (
        "ethnic race nationalit staatsang nacional ancestr religion language sprache langue marital "
        "familienstand civil"
    ),
    "volume": "volume volum =ml =cc objęt",
    "score": "score =vas_nrs =nrs punkt =points index_ scale skala =echelle escala",
    "month_of": "monthof",
    "little": (
        "=of =the =at =in =an =a =and =or =for =with =was =is =up =to =from =per =de =du =des =la =le =les "
        "=l =d =et =ou =au =aux =en =à =sur =pour =der =die =das =dem =den =und =oder =mit =bei =zur =zum "
        "=von =vom =im =für =nach =seit =y =el =los =las =o =u =al =con =para =del =un =una =di =della "
        "=dell =dello =il =lo =i =e =da =dal =nel =van =het =een =bij =op_ =voor =na =met =og =ved =på =pa "
        "=av =af =till =vid =och =do =dos =no_ =em =w =z =ze =we =przy =po =dla =od =oraz =lub =any =after "
        "=post =postoperative postop =pre =preop =during =date_ =value =val =info =information =data_ "
        "=status =field =col =column =var =patients =si =se =s =os =as =ao =nell =all =alla =t =yn =jn "
        "=ja_nein =on =sn =tn =ny =dd =mm =yyyy =yy =jjjj =aaaa =rrrr =aa =tt =gg =hh =iso =cm =text_ =same"
    ),
    "other_person": (
        "mutter mother mère madre =mãe =moeder =mor =father =vater guardian parent eltern =matki =far"
    ),
    "told": (
        "stated specified documented recorded noted mentioned angegeben dokumentiert beschrieben opgegeven "
        "gedocumenteerd angitt oppgitt angivet angiven beskrevet beskrivet précis précisé especific "
        "specificat specif registrat registrad noté mentionné anotad descrit podano opisan odnotow zapisan "
        "nevnt nævnt nämn vermeld brief =brev =carta =lettre =letter =oplyst =consta ospecific uspecific "
        "danych"
    ),
}
