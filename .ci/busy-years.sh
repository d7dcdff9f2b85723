#!/bin/bash
# ten-years.sh  prints the plain table of ten busy years of one person: two
# pressures, a weight, six drinks and three symptoms a day, a strip test of
# five pads every third day, a laboratory sheet every third month.
set -euo pipefail
awk 'BEGIN {
	print "person,when,kind,what,value,unit,note"
	print "Rosa,,profile,birth-date,1948-03-09,,"
	print "Rosa,,profile,sex,female,,"
	for (d = 0; d < 3650; d++) {
		day = strftime("%Y-%m-%d", 1451606400 + d * 86400, 1)
		for (t = 0; t < 2; t++) {
			when = day (t ? " 19:00" : " 07:00")
			printf "Rosa,%s,vital,systolic,%d,,\nRosa,%s,vital,diastolic,%d,,\n", when, 125 + d % 17, when, 74 + d % 9
		}
		printf "Rosa,%s 07:10,vital,weight,%.1f,,\n", day, 61 + (d % 40) / 20
		for (t = 0; t < 6; t++) printf "Rosa,%s %02d:30,fluid,drink,%d,,\n", day, 8 + 2 * t, 150 + 50 * (t % 3)
		for (t = 0; t < 3; t++) printf "Rosa,%s 20:%02d,symptom,%s,%d,,\n", day, t, t == 0 ? "tiredness" : t == 1 ? "cramps" : "itching", (d + t) % 3
		if (d % 3 == 0) {
			when = day " 06:50"
			printf "Rosa,%s,strip,protein,%s,,\n", when, d % 9 ? "neg" : "trace"
			printf "Rosa,%s,strip,specific-gravity,1.0%d,,\n", when, 11 + d % 15
			printf "Rosa,%s,strip,ph,6,,\nRosa,%s,strip,blood,neg,,\nRosa,%s,strip,glucose,neg,,\n", when, when, when
		}
		if (d % 91 == 0) printf "Rosa,%s 09:00,lab,creatinine,%d,umol/L,\nRosa,%s 09:00,lab,potassium,4.%d,mmol/L,\n", day, 95 + d / 120, day, d % 9
	}
}'
