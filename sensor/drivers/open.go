package drivers

import (
	"context"

	"github.com/nightclamp/nightclamp/sensor"
	"github.com/nightclamp/nightclamp/sensor/abp2"
	"github.com/nightclamp/nightclamp/sensor/ads1115"
	"github.com/nightclamp/nightclamp/sensor/bme280"
	"github.com/nightclamp/nightclamp/sensor/bmp388"
	"github.com/nightclamp/nightclamp/sensor/csvfile"
	"github.com/nightclamp/nightclamp/sensor/currentloop"
	"github.com/nightclamp/nightclamp/sensor/ds18b20"
	"github.com/nightclamp/nightclamp/sensor/hsc"
	"github.com/nightclamp/nightclamp/sensor/hwmon"
	"github.com/nightclamp/nightclamp/sensor/iio"
	"github.com/nightclamp/nightclamp/sensor/lps22"
	"github.com/nightclamp/nightclamp/sensor/mcp9808"
	"github.com/nightclamp/nightclamp/sensor/mpr"
	"github.com/nightclamp/nightclamp/sensor/ms5803"
	"github.com/nightclamp/nightclamp/sensor/natssource"
	"github.com/nightclamp/nightclamp/sensor/serialport"
	"github.com/nightclamp/nightclamp/sensor/sht4x"
	"github.com/nightclamp/nightclamp/sensor/thermistor"
)

// The functions below give each driver what it needs of the surroundings.

func openADS1115(_ context.Context, env Env, c ads1115.Config) (sensor.Source, error) {
	return source(ads1115.Open(env.Host, c, env.Now))
}

func openBME280(ctx context.Context, env Env, c bme280.Config) (sensor.Source, error) {
	return source(bme280.Open(ctx, env.Host, c, env.Now))
}

func openCSV(_ context.Context, env Env, c csvfile.Config) (sensor.Source, error) {
	return source(csvfile.Open(c, env.Now))
}

func openDS18B20(_ context.Context, env Env, c ds18b20.Config) (sensor.Source, error) {
	return source(ds18b20.Open(c, env.Now))
}

func openMPR(_ context.Context, env Env, c mpr.Config) (sensor.Source, error) {
	return source(mpr.Open(env.Host, c, env.Now))
}

func openABP2(_ context.Context, env Env, c abp2.Config) (sensor.Source, error) {
	return source(abp2.Open(env.Host, c, env.Now))
}

func openHSC(_ context.Context, env Env, c hsc.Config) (sensor.Source, error) {
	return source(hsc.Open(env.Host, c, env.Now))
}

func openHwmon(_ context.Context, env Env, c hwmon.Config) (sensor.Source, error) {
	return source(hwmon.Open(c, env.Now))
}

func openIIO(_ context.Context, env Env, c iio.Config) (sensor.Source, error) {
	return source(iio.Open(c, env.Now))
}

func openBMP388(ctx context.Context, env Env, c bmp388.Config) (sensor.Source, error) {
	return source(bmp388.Open(ctx, env.Host, c, env.Now))
}

func openCurrentLoop(_ context.Context, env Env, c currentloop.Config) (sensor.Source, error) {
	return source(currentloop.Open(env.Host, c, env.Now))
}

func openLPS22(ctx context.Context, env Env, c lps22.Config) (sensor.Source, error) {
	return source(lps22.Open(ctx, env.Host, c, env.Now))
}

func openMCP9808(_ context.Context, env Env, c mcp9808.Config) (sensor.Source, error) {
	return source(mcp9808.Open(env.Host, c, env.Now))
}

func openMS5803(ctx context.Context, env Env, c ms5803.Config) (sensor.Source, error) {
	return source(ms5803.Open(ctx, env.Host, c, env.Now))
}

func openNATS(ctx context.Context, env Env, c natssource.Config) (sensor.Source, error) {
	return source(natssource.Open(ctx, c, env.Now))
}

func openSerial(_ context.Context, env Env, c serialport.Config) (sensor.Source, error) {
	return source(serialport.Open(c, env.Now))
}

func openSHT4x(_ context.Context, env Env, c sht4x.Config) (sensor.Source, error) {
	return source(sht4x.Open(env.Host, c, env.Now))
}

func openThermistor(_ context.Context, env Env, c thermistor.Config) (sensor.Source, error) {
	return source(thermistor.Open(env.Host, c, env.Now))
}

// source keeps a nil pointer from becoming a source that is not nil.
func source[S sensor.Source](s S, err error) (sensor.Source, error) {
	if err != nil {
		return nil, err
	}
	return s, nil
}
