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

OTHER_WORDS = {
    "german": "Zeitstempel|Drehzahl|HFM Frequenz|Luftmassenstrom|Saugrohrdruck absolut|Drosselklappenstellung|"
    "Fahrgeschwindigkeit|Kühlwassertemperatur|Ladelufttemperatur|Zustand Lambdaregelung|Lambdasollwert|"
    "Lambdaistwert|Kurzzeitanpassung|Langzeitanpassung|Regenerierventil|Einspritzdauer",
    "french": "Durée|Vitesse de rotation|Fréquence du capteur de débit d'air|Débit massique d'air|Pression d'admission|"
    "Position papillon|Vitesse véhicule|Température d'eau|Température d'air|État de la boucle|"
    "Richesse demandée lambda|Lambda large bande|Correction à court terme|Correction à long terme|"
    "Électrovanne de purge|Durée d'injection",
    "spanish": "Segundos|RPM motor|Frecuencia MAF|Flujo másico de aire|Presión de admisión|Posición de la mariposa|"
    "Velocidad del vehículo|Temperatura del motor|Temperatura de admisión|Estado del lazo de combustible|"
    "Lambda deseada|Lambda real|Corrección a corto plazo|Corrección a largo plazo|Válvula de purga|"
    "Ancho de pulso inyector",
    "italian": "Secondi|Regime motore|Frequenza misuratore massa aria|Massa aria|Pressione aspirazione|Posizione farfalla|"
    "Velocità veicolo|Temperatura acqua|Temperatura aria|Stato anello carburante|Lambda richiesto|Lambda reale|"
    "Correzione a breve|Correzione a lungo|Elettrovalvola canister|Durata iniezione",
    "portuguese": "Segundos|Rotação|Frequência MAF|Massa de ar|Pressão de admissão|Posição da borboleta|Velocidade do veículo|"
    "Temperatura da água|Temperatura do ar|Estado da malha de combustível|Lambda desejado|Lambda real|"
    "Correção de curto prazo|Correção de longo prazo|Válvula de purga|Tempo de injeção",
    "dutch": "Tijdstempel|Toerental|MAF frequentie|Luchtmassastroom|Inlaatdruk|Gasklepstand|Rijsnelheid|"
    "Koelwatertemperatuur|Inlaattemperatuur|Toestand brandstofregeling|Lambda doel|Lambda werkelijk|"
    "Kortetermijncorrectie|Langetermijncorrectie|Koolstoffilterklep|Inspuitduur",
    "polish": "Znacznik czasu|Prędkość obrotowa silnika|Częstotliwość MAF|Masa powietrza|Ciśnienie dolotu|"
    "Położenie przepustnicy|Prędkość pojazdu|Temperatura cieczy chłodzącej|Temperatura powietrza|"
    "Stan pętli paliwa|Lambda wymagana|Lambda rzeczywista|Korekta krótkoterminowa paliwa|"
    "Korekta długoterminowa paliwa|Zawór EVAP|Czas otwarcia wtrysku",
    "czech": "Časová značka|Otáčky|Frekvence MAF|Hmotnost vzduchu|Tlak v sacím potrubí|Poloha škrticí klapky|"
    "Rychlost vozidla|Teplota chladicí kapaliny|Teplota vzduchu|Stav smyčky paliva|Lambda cílová|Lambda skutečná|"
    "Krátkodobá korekce paliva|Dlouhodobá korekce paliva|Ventil nádrže EVAP|Délka vstřiku",
    "swedish": "Tidsstämpel|Varvtal|MAF frekvens|Luftmassflöde|Insugstryck absolut|Trottelläge|Fordonshastighet|"
    "Kylvattentemperatur|Insugstemperatur|Bränslereglering status|Lambda mål|Lambda verklig|Korttidstrim|"
    "Långtidstrim|Kanisterspolning|Insprutningstid",
}
"""Other words for the same channels, in the same order (from memory)."""
