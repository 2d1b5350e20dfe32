"""Words by which columns of identifiers are known: lists in several languages and scripts, already plain.

`plain_words` brings a column's name to the words of these lists: lower case, without accents, possessives and
figures, in any script. The lists are common practice of hospitals' exports, no source; none of them is a register.
"""

from __future__ import annotations

import re
import unicodedata
from typing import Final

_LETTERS_ALIKE: Final = str.maketrans(
    {"ß": "ss", "ø": "o", "Ø": "O", "ı": "i", "ł": "l", "Ł": "L", "æ": "ae", "œ": "oe", "đ": "d"}
)


def flat(text: str) -> str:
    """Lower case without accents, in any script."""
    apart = unicodedata.normalize("NFKD", text.translate(_LETTERS_ALIKE))
    return "".join(one for one in apart.casefold() if not unicodedata.combining(one))


def plain_words(text: str) -> list[str]:
    """Words of a column's name: plain, parted at marks, figures and inner capitals, without possessives."""
    own = re.sub(r"[’'ʼ`´]s\b", "", text)
    apart = re.sub(r"(?<=[a-zà-þ])(?=[A-ZÀ-Þ])", " ", own)
    return re.findall(r"[^\W\d_]+", flat(apart))


def words(text: str) -> frozenset[str]:
    """Make a set of the plain words of a list."""
    return frozenset(plain_words(text))


NAMES_OF_PEOPLE: Final = words(
    "surname surnames forename forenames firstname firstnames lastname lastnames givenname givennames familyname nok "
    "fullname patientname patientnames childname mothername fathername middlename maidenname kin "
    "vorname vornamen nachname nachnamen familienname patientenname zuname geburtsname rufname mädchenname "
    "prenom prenoms patronyme apellido apellidos cognome cognomi sobrenome apelido apelidos voornaam achternaam "
    "fornavn etternavn efternavn fornamn efternamn sukunimi etunimi imie nazwisko příjmení prijmeni vezetéknév "
    "soyad soyadı adsoyad adısoyadı фио фамилия отчество прізвище επώνυμο ονοματεπώνυμο"
)
"""Words that name people, whatever stands beside them."""

PLACES: Final = words(
    "postcode postcodes postalcode zipcode zip plz postleitzahl codepostal cep postnr postnummer postnumber "
    "wohnort wohnsitz heimatort adresszeile residence domicile domicilio direccion indirizzo endereco woonadres "
    "woonplaats anschrift hausnummer адрес διεύθυνση"
)
"""Words of where people live."""

RECORDS: Final = words(
    "mrn nhsnumber ssn "
    "versichertennummer versichertennr svnr svnummer "
    "sozialversicherungsnummer nir dni nif cpf codicefiscale bsn cpr personnummer personnr fodselsnummer pesel "
    "ahv ahvnr passport passportno reisepass snils снилс полис паспорт tckimlik tckn aadhaar curp medicare"
)
"""Words of record and identity numbers."""

BIRTH: Final = words(
    "dob birthdate dateofbirth birthday geburtsdatum gebdatum gebdat geburtstag datenaissance ddn fodselsdato "
    "fodselsdag fodelsedatum geboortedatum datanascita fechanacimiento syntymaaika"
)
BIRTH_WORDS: Final = words("birth born naissance nacimiento nascita nascimento geb geboren ne nee fodt fodd")
DATE_WORDS: Final = words("date day datum am fecha data le on of de di da the dato dd mm yy yyyy tt jj jjjj")

SOFT: Final = words(
    "hospitalnumber hospitalno patientid patientnumber casenumber caseno aufnahmenummer aufnahmenr fallnummer fallnr "
    "patientennummer patientennr "
    "initials initialen nhs chi telephone telephones phone phones mobile cellphone fax telefon telefonnummer telefonnr "
    "handy mobil mobiltelefon handynummer telefono movil celular cellulare telefone telemovel telefoon telefoonnummer "
    "tlf email emails mail emailadresse courriel correo address addresses adresse strasse street adres adresa adress "
    "телефон τηλέφωνο"
)
"""Words that tell of a person only when nothing else stands beside them than who, which and where."""

CONTACT_ONLY: Final = words("tel cell contact")
"""Words that tell of one only beside a number or a person."""

BESIDE_CONTACT: Final = words(
    "home work private privat day evening night main second emergency number no nr num details detail info person line "
    "city town e mail"
)
NAME: Final = words(
    "name names nom noms nombre nombres nome nomi naam namen navn namn nimi adı имя اسم الاسم όνομα שם"
)
PEOPLE: Final = words(
    "patienten famille patient patients pt pat child children kind kindes enfant nino bambino crianca full complete "
    "voller first last middle given family maiden mother father parent parents guardian carer kin next mutter vater "
    "eltern madre padre mere pere moeder vader of the des der du de la le el del und y et e paciente paziente gp "
    "hausarzt g p mothers fathers pasient пациента пациент матери المريض الطفل משפחה"
)
PARTS_OF_NAMES: Final = words(
    "last first middle given family maiden second fore sur vor nach zu ruf letzter erster voornaam achter etter efter"
)
"""Words that stand for a part of somebody's name, where the cells are names: ``Patient Last``, ``First``."""

BESIDE_PARTS: Final = words(
    "patient patients pat pt pasient paciente paziente child childs name names of the i ii"
)
"""Words that may stand beside them."""

STAFF: Final = words(
    "anaesthetist anesthetist anaesthesist anesthesist anästhesist anaesthesiologist anesthesiologist narkosearzt "
    "anesthésiste anestesista anestesiologo anesthesioloog anæstesilæge anestesiläkare anestesilege anestesiolog "
    "narkoslakare narkoslege narkoselæge "
    "referrer referring referred zuweiser einweiser überweiser hausarzt hausärztin huisarts verwijzer generaliste "
    "médecin medecin medico médico médica lege fastlege läkare lakare laege lekarz lekarka gp doctor dr physician "
    "consultant surgeon surgeons operator operateur opérateur operatör operatør chirurg chirurgien cirujano cirujana "
    "chirurgo cirurgião kirurg assistant assistent assistenz aiuto ayudante aide asystent registrar trainee nurse "
    "scrub pfleger pflegekraft infirmière enfermera infermiere sykepleier sjuksköterska sygeplejerske verpleegkundige "
    "pielęgniarka instrumentista instrumentiste"
)
"""Words of those who treat, refer or assist; a column of theirs holds people where its cells are names."""

TITLES: Final = words("mr mrs ms miss dr prof frau herr mme dra")

GRADES: Final = re.compile(
    r"arzt|aerzt|ärzt|resident|specializz|fellow|attending|special|spezial|interne|intern$|assist|kandidat|student|junior|"
    r"senior|chief|chef|reservelæge|overl|lege|läkare|lakare|lekarz|registrar|trainee|consultant|surgeon|grade|staff|"
    r"house|officer|basis|aios|anios|turnus|bitni|adjunto|strutturato|rezydent|professor|kirurg|chirurg"
)
"""Stems of ranks and trades, which are nobody's name."""

NUMBER: Final = words("number numbers no nos nr num numero numer nummer id ids")
NUMBERED: Final = words(
    "krankenversicherung hospital hosp record records medical chart insurance identity identification national "
    "social security tax patient pat pt nhs chi kvnr versicherung steuer personal dossier historia clinica cartella "
    "sanitario unit case registration passport fall aufnahme admission admissions encounter episode file folder "
    "account accession pasient kimlik tc"
)

IN_ANY_WORD: Final = tuple(
    flat(one)
    for one in (
        *(
            "姓名",
            "名字",
            "患者名",
            "氏名",
            "名前",
            "病历号",
            "住院号",
            "身份证",
            "电话",
            "手机",
            "地址",
            "住址",
        ),
        *(
            "電話",
            "住所",
            "カルテ番号",
            "성명",
            "이름",
            "주소",
            "전화",
            "नाम",
            "ชื่อ",
            "แซ่",
            "תעודת זהות",
            "טלפון",
        ),
        *("כתובת", "الهاتف", "العنوان", "رقم الهوية"),
    )
)
"""Words of scripts that do not part words, or part them otherwise; looked for anywhere in a column's name."""

GIVEN: Final = words(
    "anna anne maria marie sarah laura emma julia lisa lena sophie sofia eva elena lucia paula clara "
    "alice jane mary susan linda karen nancy helen ruth emily olivia amelia grace lucy chloe ella mia "
    "hannah lea nora ida ingrid astrid katrin petra monika ursula sabine claudia andrea martina chiara "
    "giulia francesca carmen isabel ana camille manon juliette louise jeanne fatima aisha john james "
    "robert michael william david richard joseph thomas charles daniel matthew paul george peter andrew "
    "simon jack harry oliver noah liam ethan jacob samuel henry leon lukas felix jonas finn paul hans "
    "klaus wolfgang stefan andreas christian martin sebastian tobias florian pierre jean jacques michel "
    "francois louis hugo lucas antoine jose juan carlos luis miguel pedro pablo diego javier giovanni "
    "marco luca matteo francesco alessandro giuseppe antonio joao tiago lars erik nils anders henrik "
    "mohammed muhammad mohamed ahmed ahmad ali omar hassan ibrahim yusuf khalid youssef mariam zainab ivan dmitri "
    "piotr tomasz katarzyna agnieszka jan krzysztof mehmet mustafa ahmet ayse fatma emine hatice zeynep hasan huseyin "
    "murat elif emre burak merve rahul priya amit sunita rajesh ravi anil sanjay vijay deepak lakshmi arjun pooja "
    "anita suresh ramesh sunil neha kavita rohit ananya xiaoming jing mei xin yan hui "
    "иван анна мария александр сергей дмитрий андрей алексей елена ольга наталья татьяна "
    "екатерина пётр михаил николай владимир γιώργος μαρία γιάννης محمد احمد أحمد علي فاطمة عمر مريم حسن "
)
"""Given names that are common in their languages."""

INDIC: Final = (
    "राहुल",
    "प्रिया",
    "अमित",
    "सुनीता",
    "अनिल",
    "राजेश",
    "संजय",
    "सीता",
    "राम",
    "देवी",
    "सिंह",
    "शर्मा",
    "कुमार",
    "गुप्ता",
    "पटेल",
    "यादव",
)
"""Names in Devanagari, looked for anywhere, since its signs do not part into plain words."""

SURNAMES: Final = words(
    "smith jones taylor williams wilson johnson davies evans roberts walker robinson thompson hughes wright edwards "
    "muller mueller schmidt schneider fischer weber meyer meier wagner becker schulz hoffmann koch bauer schroder "
    "neumann zimmermann kruger hofmann hartmann rossi russo esposito bianchi romano ricci garcia fernandez gonzalez "
    "rodriguez lopez martinez sanchez perez gomez dubois durand leroy moreau lefebvre bernard hansen johansen "
    "olsen larsen andersen nilsen pedersen jensen nielsen johansson andersson karlsson nilsson eriksson jansen bakker "
    "visser nowak kowalski wisniewski novak silva santos ferreira pereira oliveira costa nguyen tran kumar singh "
    "sharma patel gupta reddy iyer nair khan hussain yilmaz kaya demir celik sahin ozturk wang zhang liu chen yang "
    "huang zhao иванов иванова петров петрова сидоров смирнов смирнова кузнецов кузнецова попов попова"
)
"""Surnames that are common in their languages."""

HAN_SURNAMES: Final = frozenset(
    "王李张張刘劉陈陳杨楊赵趙黄黃周吴吳徐孙孫胡朱高林何郭马馬罗羅梁宋郑鄭谢謝韩韓唐冯馮于董萧程曹袁邓許许傅沈曾彭吕苏蘇卢"
    "蒋蔡贾丁魏薛叶葉阎余潘杜戴夏钟汪田任姜范方石姚谭廖邹熊金陆郝孔白崔康毛邱秦江史顾侯邵孟龙万段雷钱汤尹黎易常武乔贺赖龚"
    "佐鈴伊渡山小加吉斎松井木清森阿池橋藤岡村"
)
HANGUL_SURNAMES: Final = frozenset("김이박최정강조윤장임한오서신권황안송전홍")

EPONYMS: Final = words(
    "lichtenstein shouldice bassini mcvay cooper marcy desarda ferguson halsted potts gilbert nyhus stoppa rives "
    "rutkow robbins trabucco kugel czerny girard zimmerman kirschner moloney wantz amyand littre richter maydl spigel "
    "spigelian lotheissen mitchell banks gross koontz andrews berliner schumpelick aachen ladd lucas champonniere"
)
"""Surgeons whose names are names of repairs, hernias or grades."""

OF_HOSPITALS: Final = words(
    "st saint ste sankt sct royal hospital hospitals infirmary klinik klinikum clinic clinics clinique general county "
    "university universitat memorial centre center krankenhaus spital hopital sykehus sjukhus sygehus ziekenhuis "
    "ospedale ward theatre station"
)

OTHER_THINGS: Final = words(
    "lot lots batch charge chargen serial mesh netz implant catalogue catalog ref brand product device drug drugs "
    "medication hospital klinik clinic centre center site ward department station theatre diagnosis procedure "
    "operation comment comments remark remarks finding findings text note notes complication indication repair "
    "technique"
)
"""Words of a column's name that explain numbers and capitals by something else than people."""

NUMBERED_THINGS: Final = words(
    "lot lots batch charge chargen serial mesh netz implant catalogue catalog ref brand product device drug drugs"
)
"""Those whose numbers are long and may begin with a nought."""

CLINICAL: Final = re.compile(
    r"hern|inguin|direct|direkt|lateral|medial|femor|plast|repair|scrot|bruch|leist|"
    r"^(?:mesh|open|lap$|laparo|left|right|bilat|link|recht|sac$|ring$|wall$|posterior|sutur|primar|recur|rezid|pain|none|"
    r"normal|unkn|unbek|unclear|unklar|elect|emerg|urgen|general|local|spinal|ligat|plug|panta|combin|komb|cord|hydro|"
    r"lipom|testi|infect|seroma|haem|wound|surgeon|consultant|registrar|trainee|male$|female|mann$|frau$|yes|nein|other|"
    r"autre|andere|missing|sliding|strang|incarc|obstr|reduc|abdom|pubic|groin|brokk|netz$|offen|chir|scar|umbil|"
    r"epigas|see$|note|nicht|nur$|not$|to$|by$|with)|"
    r"(?:itis|oma|tomy|tomie|pathy|osis|cillin|caine|statin|scopy|scopic|ology|ical|inal)$"
)
"""Stems and endings of words that are findings, procedures, drugs or codes, and no names."""
