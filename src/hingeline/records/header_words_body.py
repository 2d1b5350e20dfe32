"""Words for the patient and the body: keys, birth, sex, age, size, puberty, gestation.

A glossary of senses; each holds words in eleven languages without accents needed. ``=`` marks a word that is taken
only as a whole, never as the beginning of a longer one.
"""

from __future__ import annotations

from typing import Final

BODY: Final[dict[str, str]] = {
    "patient": (
        "patient patiënt paciente paziente pasient pacjent subject proband patientin =pat =pats =pt =pte "
        "=pac =paz =pas =child =kind =enfant =nino =barn =dziecko =bambino =crianca chory =person =persona "
        "personen =utente =doente =usuario"
    ),
    "key": (
        "identif ident pseudonym kennung chiffre schlussel number numer numero nummer número nombre_de =id "
        "=ids =uid =pid =no =nr =num =nro =key =kode_pac =code =codigo =codice =kod =n =nº =mrn =hash "
        "=token =nhc =hc =ipp =urn =lopnr lopnummer lopenr lopenummer lobenr lobenummer journal dossier "
        "cartella expediente processo =folio record =rec_id kartoteka =hn =chi =nhi =upi =pin =umrn =cip "
        "=unr =ref =nip =historia =lop =lope =n° =hist kennz =kennziffer =upn studien studie =study forsøg "
        "studienr studienummer =cipa =nid identyfik =proc =processo_clinico =inclusion =inclusionnr =nr_bad "
        "=sygesikr =matricola =nosologico"
    ),
    "hospital_record": (
        "hospital krankenh ziekenhuis szpital sykehus sygehus sjukhus hopital hôpital ospedal klinikum"
    ),
    "birth": (
        "birth born geburt geboren =geb naissance naiss =né =ne =née nacimiento =nac nacim nascimento "
        "nascita =nasc =nato =nata geboorte fødsel födel födsel =fødselsdag =født =född =fodd =fodt =føds "
        "urodzen urodz =ur birthdate =dob =ddn =dn =fdn =fdob =fnac =dnaiss =dnasc =dnac =gebdat =gdat =gd "
        "=fdato =fd =födelsedatum =f_dato urodzony nascid nacid"
    ),
    "date": (
        "date datum dato fecha data =dt =dat =dte =dd =fec =fch day dzien dzień =dag =tag =giorno =dia "
        "=jour =dob =dod =dos =doa =dop =dlc =ddn =ddo =fdn =fnac =dnaiss =dnasc =dnac =fiq =fx =gebdat "
        "=lfu =dlfu =on =am =le =el =when =wann =quando =cuando =quand =kiedy =time =datetime =gdat =dofs "
        "=doe =tidspunkt termin =fdato"
    ),
    "age": (
        "=age =ages =alter =edad =eta =età =idade leeftijd =lft =alder =ålder =alderen lebensalter wiek "
        "patientenalter =âge =agey =ageyrs =agem =agemo =agemths =ageyears =agemonths =aged =agew =alt "
        "=idad =patage =opage =ageop aldre levealder operationsalter operasjonsalder =aar_gammel =id.anos"
    ),
    "years": (
        "=y =yr =yrs =yo year jahr =jahre =jahren =j =ans =an =annees =anos =ano =anni =anno jaar =jr =ar "
        "=år =aar =lat =lata =roku =rok =rokzycia"
    ),
    "months": (
        "month =mo =mos =mth =mths =mon =mnth monat =monate =mois =mes =meses =mese =mesi maand =mnd "
        "=måneder måned månad =mdr =mån miesiac miesiąc =mies =msc =mc =m"
    ),
    "weeks": (
        "week =wk =wks =w =weeks woche =wochen =ssw semaine =sem semana settiman =sett =weken =uke =uker "
        "=uge =uger vecka =veckor tydzien tygod =tyg =tyg."
    ),
    "days": "=days =day =tage =tagen =jours =dias =giorni =dagen =dage =dager =dagar =dni",
    "sex": (
        "=sex =sx =sexe =sexo =sesso geschlecht =geschl =gschl =ges gender =geslacht =gesl kjønn =kjonn "
        "=kön =kon =køn =koen =kj płeć =plec =plc =genero =género =genre =genere =gesch"
    ),
    "height": (
        "=height =ht =hgt bodyheight körpergröße koerpergroesse =größe =groesse =taille =talla estatura "
        "=altura =altezza =statura =lengte =lengde =længde =laengde =längd =langd =højde =hojde =høyde "
        "=hoyde =wzrost =länge =grösse =hojd =stature =kroppslengde =kroppslängd =lichaamslengte "
        "körperlänge =koerperlaenge =gr =heightcm"
    ),
    "weight": (
        "=weight =wt =wgt bodyweight gewicht =gew körpergewicht =poids =peso =vægt =vaegt =vekt =vikt =waga "
        "=masa =kg =kroppsvekt =kroppsvikt =lichaamsgewicht =weightkg =pds =kropsvægt"
    ),
    "puberty": "pubert tanner puberdade pubertad pubertà pokwit dojrzew puberteit puberté maturation",
    "stage": "stage stadium =stade =stadio =estadio =estádio =stopień =stopien =stadie =stad =fase =st",
    "gestation": (
        "gestat =ga =ssw schwangersch amenorr =sa =svangerskap svangerskapsuke graviditet zwangersch ciąż "
        "ciaz =hbd =eg =ig =gw =gwk =gestweeks =schwangerschaftswoche =semg =ag =tc =svlengde gestaz "
        "=tydzien_ciazy gestac =terme =aterm svangerskab svangerskaps gestasjon gestasj =amenorree "
        "graviditetsuge graviditetsveck =semgest gestation gestn =zwduur =zw =sg =ad =sv =svuke =gestw =gestwk "
        "=gestwks amenorroe"
    ),
    "preterm": (
        "preterm premat prémat =prem frühgeb fruehgeb fruhgeb frühchen prämat praemat vroeggeb prematur "
        "fortidlig tidligfødt tidligfodt =tidlig underburen wcześniak wczesniak wczesniac wcześniac =fg "
        "=exprem =expremie prétermino pretermin =förtidig fortidig prematuro præmatur praematur =tidligt "
        "=tidigt =tidig =termo =pretermo przedwcz =preemie =premature =forborn =voldragen_niet zu_früh "
        "=frueh =früh =early =vroeg =tôt =temprano"
    ),
    "connective": (
        "connectiv connettiv conjonctif conjonct conjuntiv conjuntivo conjunctiv bindegeweb bindweefsel "
        "bindevev bindevæv bindevaev bindväv bindvav łączn laczn ehlers marfan =ctd =eds kollagen collagen "
        "colágeno colageno conectiv conectivopat kolagen conetti tejido_conec bindegewebsst"
    ),
    "bmi": "=bmi =imc =kmi =vki quetelet",
    "male": (
        "=m =male =males =man =men =mann =maenn männlich maennlich mannlich männl maennl =mnl =maschio "
        "=maschile masculin mascul =masc =homme =hombre varón varon =homem =mand =mænd =mężczyzna "
        "=mezczyzna =męska =meska =męski =jongen =junge =knabe =bub =jungen =garçon =garcon =niño =nino "
        "=menino =rapaz =bambino =ragazzo =dreng =gutt =pojke =chłopiec =chlopiec =boy =boys =mannelijk "
        "=mannlig =mandlig =manlig =männ =hankøn =h =hr =mies =macho =uomo =mesk =męż =mez"
    ),
    "female": (
        "=f =female =females =woman =women =frau weiblich weibl =wbl =w =femmina femminil =femme fémin "
        "femin =fem =mujer =mulher =kvinde =kvinne =kvinna =kobieta =żeńska =zenska =żeński =meisje "
        "=mädchen =maedchen =madchen =fille =niña =nina =menina =rapariga =bambina =ragazza =pige =jente "
        "=flicka =dziewczynka =girl =girls =vrouw =vrouwelijk =kvinnelig =kvindelig =kvinnlig =hembra "
        "=donna =hunkøn =fr =kob =kv"
    ),
}
