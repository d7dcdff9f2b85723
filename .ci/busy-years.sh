#!/bin/bash
# busy-years.sh [YEARS]  prints the plain table of ten, or so many, busy years of
# one person, 30 entries a day: two pressures, one of them with the weight, seven
# symptoms, ten drinks, ten portions of urine, a strip test of seven pads, and
# every third month a laboratory sheet. They end with the year 2025.
set -euo pipefail
awk -v years="${1:-10}" 'BEGIN {
	print "person,when,kind,what,value,unit,note"
	print "Rosa,,profile,birth-date,1948-03-09,,\nRosa,,profile,sex,female,,"
	split("tiredness foamy-urine ankle-swelling itching night-urination cramps dizziness", symptom)
	split("neg neg trace neg neg neg 1+", protein)
	for (d = int(-years * 365.25); d < 0; d++) {
		day = strftime("%Y-%m-%d", 1767225600 + d * 86400, 1)
		n = d + 100000
		for (t = 0; t < 2; t++) {
			when = "Rosa," day (t ? " 19:00" : " 07:00")
			printf "%s,vital,systolic,%d,,\n%s,vital,diastolic,%d,,\n", when, 125 + n % 17, when, 74 + n % 9
			if (!t) printf "%s,vital,weight,%.1f,,\n", when, 61 + (n % 40) / 20
		}
		for (t = 0; t < 10; t++) {
			printf "Rosa,%s %02d:30,fluid,drink,%d,,\n", day, 8 + t, 150 + 50 * (t % 3)
			printf "Rosa,%s %02d:50,fluid,urine,%d,,\n", day, 8 + t, 120 + 40 * ((n + t) % 4)
		}
		for (t = 1; t <= 7; t++) printf "Rosa,%s 20:%02d,symptom,%s,%d,,\n", day, t, symptom[t], (n + t) % 3
		when = "Rosa," day " 06:50,strip,"
		printf "%sprotein,%s,,\n%sspecific-gravity,1.0%d,,\n", when, protein[n % 7 + 1], when, 11 + n % 15
		printf "%sph,6,,\n%sblood,neg,,\n%sglucose,neg,,\n%snitrite,neg,,\n%sleukocytes,neg,,\n", when, when, when, when, when
		if (n % 91 == 0) printf "Rosa,%s 09:00,lab,creatinine,%d,umol/L,\nRosa,%s 09:00,lab,potassium,4.%d,mmol/L,\n", day, 95 + n % 12, day, n % 9
	}
}'
