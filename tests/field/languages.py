"""Names of the usual channels in the languages of the field, in their order, parted by bars (from memory)."""

LANGUAGES = {
    "german": "Zeit|Motordrehzahl|Luftmassenmesser Frequenz|Luftmasse|Saugrohrdruck|Drosselklappe|Geschwindigkeit|"
    "Kühlmitteltemperatur|Ansauglufttemperatur|Status Kraftstoffsystem|Lambda Soll|Lambda Ist|Kurzzeittrimm|"
    "Langzeittrimm|Tankentlüftung|Einspritzzeit",
    "french": "Temps|Régime moteur|Fréquence débitmètre|Débit d'air|Pression collecteur|Papillon|Vitesse|"
    "Température liquide de refroidissement|Température air admission|État système carburant|Lambda consigne|"
    "Lambda mesuré|Correction court terme|Correction long terme|Purge canister|Temps d'injection",
    "spanish": "Tiempo|Régimen motor|Frecuencia caudalímetro|Caudal de aire|Presión colector|Mariposa|Velocidad|"
    "Temperatura refrigerante|Temperatura aire admisión|Estado sistema combustible|Lambda objetivo|Lambda medida|"
    "Ajuste combustible corto plazo|Ajuste combustible largo plazo|Purga cánister|Tiempo de inyección",
    "italian": "Tempo|Giri motore|Frequenza debimetro|Portata aria|Pressione collettore|Farfalla|Velocità|"
    "Temperatura liquido raffreddamento|Temperatura aria aspirata|Stato sistema carburante|Lambda obiettivo|"
    "Lambda misurato|Correzione breve termine|Correzione lungo termine|Spurgo canister|Tempo iniezione",
    "portuguese": "Tempo|Rotação do motor|Frequência do sensor de fluxo de ar|Fluxo de ar|Pressão do coletor|Borboleta|"
    "Velocidade|Temperatura do líquido de arrefecimento|Temperatura do ar de admissão|"
    "Estado do sistema de combustível|Lambda alvo|Lambda medido|Ajuste de combustível curto prazo|"
    "Ajuste de combustível longo prazo|Purga do cânister|Tempo de injeção",
    "dutch": "Tijd|Motortoerental|Frequentie luchtmassameter|Luchtmassa|Inlaatspruitstukdruk|Gasklep|Snelheid|"
    "Koelvloeistoftemperatuur|Inlaatluchttemperatuur|Status brandstofsysteem|Lambda gewenst|Lambda gemeten|"
    "Brandstoftrim korte termijn|Brandstoftrim lange termijn|Ontluchting koolstoffilter|Inspuittijd",
    "polish": "Czas|Obroty silnika|Częstotliwość przepływomierza|Przepływ powietrza|Ciśnienie w kolektorze|Przepustnica|"
    "Prędkość|Temperatura płynu chłodzącego|Temperatura powietrza dolotowego|Stan układu paliwowego|Lambda zadana|"
    "Lambda zmierzona|Korekta krótkoterminowa|Korekta długoterminowa|Przedmuch filtra|Czas wtrysku",
    "czech": "Čas|Otáčky motoru|Frekvence váhy vzduchu|Průtok vzduchu|Tlak v sání|Škrticí klapka|Rychlost|"
    "Teplota chladicí kapaliny|Teplota nasávaného vzduchu|Stav palivového systému|Lambda požadovaná|Lambda měřená|"
    "Krátkodobá korekce|Dlouhodobá korekce|Odvětrání nádrže|Doba vstřiku",
    "swedish": "Tid|Motorvarvtal|Luftmassemätare frekvens|Luftflöde|Insugstryck|Spjäll|Hastighet|Kylvätsketemperatur|"
    "Insugningsluftens temperatur|Bränslesystemstatus|Lambda börvärde|Lambda ärvärde|Bränsletrim kort|"
    "Bränsletrim lång|Kanisterventil|Insprutningstid",
}
