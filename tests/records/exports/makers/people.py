"""Invented names, addresses and numbers by language: what an export carries that must never travel on.

Names are drawn from common first names and surnames at random; streets, towns, postcodes and telephone numbers are made
up (fictional number ranges where a country keeps one).
"""

from __future__ import annotations

import random
from collections.abc import Callable

Draw = Callable[[random.Random], str]

MALE = {
    "en": "James Oliver Harry Jack Thomas Daniel Samuel George Callum Ethan Liam Alfie Reuben Toby Edwin",
    "us": "Mason Tyler Logan Hunter Jacob Wyatt Caleb Austin Diego Marcus Trevor Elijah Carlos Brandon",
    "ie": "Cian Oisín Seán Darragh Conor Fionn Pádraig Eoin Tadhg Rory Declan Cormac",
    "in": "Arjun Rohan Vivek Sanjay Karthik Imran Rahul Suresh Aditya Manoj Faizal Prakash",
    "de": "Jonas Lukas Felix Maximilian Jürgen Günter Emil Paul Moritz Björn Heinz Ralf Uwe Jörg",
    "fr": "Hugo Léo Mathéo Théo Baptiste Jérôme Gérard Émile Étienne Noël Clément Loïc François",
    "es": "Hugo Martín Álvaro Íñigo Joaquín José Andrés Ramón Adrián Iván Óscar Julián",
    "it": "Matteo Lorenzo Niccolò Davide Giuseppe Riccardo Tommaso Pietro Ettore Salvatore",
    "nl": "Daan Sem Bram Thijs Joost Pieter Henk Gijs Ruben Stijn Maarten Koen",
    "da": "Magnus Søren Rasmus Mads Jørgen Frederik Anders Kasper Bjørn Villads",
    "sv": "Åke Örjan Erik Gustav Elis Nils Göran Björn Axel Håkan Viktor",
    "no": "Øyvind Håvard Lars Sindre Even Kjetil Torbjørn Eirik Sverre Bård",
    "pt": "João Tomás Gonçalo Simão Nuno Tiago Luís Rui Afonso Vasco",
    "pl": "Michał Paweł Łukasz Stanisław Wojciech Jakub Szymon Bartłomiej Zbigniew Krzysztof",
}
FEMALE = {
    "en": "Amelia Grace Emily Sophie Ruby Hannah Margaret Joan Freya",
    "us": "Madison Ashley Brooke Chloe Olivia Kayla Patricia",
    "ie": "Aoife Ciara Niamh Saoirse Róisín Orla",
    "in": "Priya Ananya Lakshmi Meera Fatima Kavya",
    "de": "Mia Lena Käthe Ursula Hannah Jördis Renate",
    "fr": "Chloé Inès Zoé Agnès Françoise Anaïs",
    "es": "Lucía Sofía Inés Begoña María Concepción",
    "it": "Giulia Chiara Lucia Francesca Noemi",
    "nl": "Fleur Sanne Lotte Anouk Wilma Truus",
    "da": "Freja Sofie Kirsten Maja Birthe",
    "sv": "Elsa Åsa Märta Ingrid Tove",
    "no": "Ingrid Solveig Åse Nora Tuva",
    "pt": "Inês Matilde Leonor Conceição Beatriz",
    "pl": "Zuzanna Małgorzata Agnieszka Hanna Łucja",
}
SURNAMES = {
    "en": "Ashdown Pickering Holroyd Marsh Tunnicliffe Baxter Fenwick Okafor Hussain Lowe Dyer Pryce Sutcliffe Rowe",
    "us": "Hendricks Calloway Ramirez Nguyen Becker Whitlock Dawson Ortiz Sandoval Pruitt Greer Lindgren",
    "ie": "Murphy Gallagher Kavanagh Tierney Moriarty Keogh Breslin Ó_Sé Hanrahan Cusack",
    "in": "Nair Iyer Sharma Patil Reddy Khan Banerjee Menon Joshi Pillai Gowda",
    "de": "Kröger Bäumler Vogt Schäfer Lindemann Hüttner Weißgerber Öztürk Petersen Rüdiger Zahn",
    "fr": "Lefèvre Garnier Bérard Chevalier Delaunay Prévost Mercier Hébert Lacaze Guérin",
    "es": "Núñez_Prieto Cañadas_Gil Ibáñez_Soto Peña_Ruiz Güell_Mas Hernández_Vega Castaño_León Pardo_Gil",
    "it": "Bellandi Ferrari Moretti D'Amico Zanetti Lo_Presti Caruso Marchetti Pellegrino",
    "nl": "de_Vries van_Dongen Bakker Kuipers Hoekstra van_der_Meer Smeets Brouwer Terpstra",
    "da": "Kjær Østergaard Nørgaard Mikkelsen Bæk Lauridsen Frandsen Thygesen",
    "sv": "Åkesson Sjögren Lindqvist Öberg Wallén Hägg Norén Byström",
    "no": "Bjørnstad Håland Sørli Nygård Vikøren Tveit Kleppe Aasen",
    "pt": "Gonçalves Simões Araújo Falcão Lourenço Magalhães Brandão Pimentel",
    "pl": "Wójcik Śliwa Żak Gołębiowski Kaczmarek Łuczak Piątek Zieliński",
}
STREETS = {
    "en": "Larch Close|Mill Lane|Station Road|Chapel Street|The Crescent",
    "us": "Maple Ave|County Road 12|Sycamore Ct|W 4th St|Juniper Dr",
    "ie": "Barrack St|Strand Rd|Castle View|The Green",
    "in": "MG Road Cross|Temple Street|2nd Main|Lake View Layout",
    "de": "Lindenstraße|Am Mühlbach|Kirchgasse|Ringstr.|Birkenweg",
    "fr": "rue des Tilleuls|allée du Moulin|chemin Vert|place de l'Église",
    "es": "C/ Olmo|Avda. del Río|Plaza Mayor|C/ Peñuelas",
    "it": "Via dei Tigli|Via Mazzini|Piazza del Pozzo|Viale Europa",
    "nl": "Dorpsstraat|Molenweg|Kerkplein|Lindelaan",
    "da": "Møllevej|Skovbrynet|Kirkegade|Åvej",
    "sv": "Björkvägen|Storgatan|Kvarngränd|Ängsvägen",
    "no": "Fjellveien|Strandgata|Bjørkelia|Kirkegata",
    "pt": "Rua da Fonte|Travessa do Pinhal|Largo da Sé|Av. da Liberdade",
    "pl": "ul. Lipowa|ul. Młyńska|ul. Źródlana|os. Słoneczne",
}
TOWNS = {
    "en": "Northmere Aldercombe Wetherley Stoke_Harrow",
    "us": "Cedar_Flats Millbrook_Falls Larkspur East_Harmon",
    "ie": "Ballyfenn Kilmoreen Dunarra",
    "in": "Devarpet Nandigarh Sonapuram",
    "de": "Aschwald Niederbrünn Sankt_Oswin Großlauter",
    "fr": "Saint-Aubry Montfleury Bréville-sur-Orne",
    "es": "Villarcayuela Peñafresca Almendrosa",
    "it": "Montelago Borgoverde Santa_Lucina",
    "nl": "Oosterveen Lindhoven Waterdijk",
    "da": "Nørreballe Skovlund Åstrupby",
    "sv": "Granköping Ljungsala Ekeberga",
    "no": "Furuvik Granøya Steinsund",
    "pt": "Vila_Serena Pinhalvo Ribeira_Clara",
    "pl": "Brzozowiec Lipówka Zielonogród",
}


def digits(rng: random.Random, how_many: int) -> str:
    return "".join(rng.choices("0123456789", k=how_many))


PHONES: dict[str, Draw] = {
    "en": lambda r: f"07700 900{r.randint(100, 999)}",
    "us": lambda r: f"({r.randint(201, 989)}) 555-01{r.randint(10, 99)}",
    "ie": lambda r: f"020 91{r.randint(1, 9)} {digits(r, 4)}",
    "in": lambda r: f"+91 9{digits(r, 4)} {digits(r, 5)}",
    "de": lambda r: f"0{r.randint(2, 9)}{digits(r, 3)} / {digits(r, 6)}",
    "fr": lambda r: f"06 39 98 {digits(r, 2)} {digits(r, 2)}",
    "es": lambda r: f"6{digits(r, 2)} {digits(r, 3)} {digits(r, 3)}",
    "it": lambda r: f"33{r.randint(0, 9)} {digits(r, 7)}",
    "nl": lambda r: f"06-{digits(r, 8)}",
    "da": lambda r: f"{r.randint(20, 60)} {digits(r, 2)} {digits(r, 2)} {digits(r, 2)}",
    "sv": lambda r: f"070-17406{digits(r, 2)}",
    "no": lambda r: f"9{digits(r, 2)} {digits(r, 2)} {digits(r, 3)}",
    "pt": lambda r: f"91{r.randint(0, 9)} {digits(r, 3)} {digits(r, 3)}",
    "pl": lambda r: f"6{digits(r, 2)}-{digits(r, 3)}-{digits(r, 3)}",
}
POSTCODES: dict[str, Draw] = {
    "en": lambda r: (
        f"{r.choice(['QX', 'ZN', 'XV'])}{r.randint(1, 29)} {r.randint(1, 9)}{r.choice('ABDEFG')}{r.choice('HJLN')}"
    ),
    "us": lambda r: f"00{digits(r, 3)}",
    "ie": lambda r: (
        f"Z{r.randint(10, 99)} {r.choice('AEFH')}{r.randint(1, 9)}{r.choice('KNP')}{r.randint(1, 9)}"
    ),
    "in": lambda r: f"9{digits(r, 5)}",
    "de": lambda r: f"0{digits(r, 4)}",
    "fr": lambda r: f"9{digits(r, 4)}",
    "es": lambda r: f"5{digits(r, 4)}",
    "it": lambda r: f"0{digits(r, 4)}",
    "nl": lambda r: f"{r.randint(1000, 9999)} {r.choice('ABDEX')}{r.choice('GHKZ')}",
    "da": lambda r: f"{r.randint(1000, 9999)}",
    "sv": lambda r: f"{r.randint(100, 999)} {r.randint(10, 99)}",
    "no": lambda r: f"{r.randint(1000, 9999)}",
    "pt": lambda r: f"{r.randint(1000, 9999)}-{digits(r, 3)}",
    "pl": lambda r: f"{digits(r, 2)}-{digits(r, 3)}",
}


class Person:
    """What the front desk typed about a patient."""

    def __init__(self, country: str, sex: str, rng: random.Random) -> None:
        given = (MALE if sex == "male" else FEMALE)[country].split()
        self.first = rng.choice(given)
        self.last = rng.choice(SURNAMES[country].split()).replace("_", " ")
        self.kin = rng.choice(FEMALE[country].split()) + " " + self.last
        self.kin_phone = PHONES[country](rng)
        self.phone = PHONES[country](rng)
        self.postcode = POSTCODES[country](rng)
        self.town = rng.choice(TOWNS[country].split()).replace("_", " ")
        street, number = rng.choice(STREETS[country].split("|")), rng.randint(1, 140)
        first = country in ("en", "us", "ie", "in", "fr")
        self.street = f"{number} {street}" if first else f"{street} {number}"
        self.address = f"{self.street}, {self.town}"
        self.email = f"{self.first}.{self.last}".lower().replace(" ", "") + "@example.org"
        self.initials = self.first[0] + self.last[0]
        self.national = digits(rng, 10)


def staff(country: str, how_many: int, seed: int) -> list[str]:
    """Surnames for the people who work there."""
    names = [name.replace("_", " ") for name in SURNAMES[country].split()]
    random.Random(seed).shuffle(names)
    return names[:how_many]
